"""Runs the tests, and every Python that they start, on the computer of `sitecustomize.py`."""

import os
from pathlib import Path

import pytest
from tests.portable.sitecustomize import become_windows


@pytest.hookimpl(trylast=True)
def pytest_configure(config: pytest.Config) -> None:
    """Become poor in the process that runs tests: a worker, or the only one."""
    if hasattr(config, "workerinput") or not config.getoption("numprocesses", None):
        os.environ["HINGELINE_PORTABLE"] = "1"
        os.environ["PYTHONPATH"] = str(Path(__file__).parent)
        become_windows()
