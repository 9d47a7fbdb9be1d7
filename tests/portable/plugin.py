"""Runs the tests, and every Python that they start, on the computer of `sitecustomize.py`."""

import os

import pytest
from tests.portable import poor_environment
from tests.portable.sitecustomize import become_windows

LOADED = "the libraries are loaded before the system calls itself Windows"
LEFT_OUT = {
    "test_help_loads_neither_models_nor_numbers": LOADED,
    "test_no_numerical_stack_is_imported": LOADED,
    "test_who_wants_no_page_and_no_speech_waits_for_neither": LOADED,
}
"""Tests that this computer can't take, and why."""


@pytest.hookimpl(tryfirst=True)
def pytest_load_initial_conftests(early_config: pytest.Config) -> None:
    """Become poor in the process that runs tests, a worker or the only one, before any of our own is loaded there."""
    if "PYTEST_XDIST_WORKER" in os.environ or not early_config.known_args_namespace.numprocesses:
        os.environ.update(poor_environment())
        become_windows()


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Leave out what says nothing here."""
    for item in items:
        if reason := LEFT_OUT.get(getattr(item, "originalname", item.name)):
            item.add_marker(pytest.mark.skip(reason=reason))
