import pytest
from log_stop import Field, make_field, make_verdict

from fesolve.judge.verdict import Verdict
from fesolve.units import Formatter


@pytest.fixture
def verdict() -> Verdict:
    return make_verdict()


@pytest.fixture(scope="session")
def field() -> Field:
    return make_field()


@pytest.fixture
def si() -> Formatter:
    return Formatter("si")
