"""Puts this folder on the path, so that all tests can import the helper modules in it."""
