"""Puts this folder on the path, so that all tests can import the helper modules in it."""

import os

if "PYTEST_XDIST_WORKER" in os.environ:  # side by side, the threads of each one's linear algebra wait for one another
    os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

collect_ignore = ["example_package"]  # a package of its own, installed by the tests that use it
