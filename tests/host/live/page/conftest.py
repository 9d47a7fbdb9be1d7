"""A page that is offered, and what is pressed on it."""

import pytest

from hingeline.live.page.server import Page


@pytest.fixture
def pressed():
    return []


@pytest.fixture
def page(pressed):
    """A page that may capture."""
    with Page("127.0.0.1", pressed.append) as offered:
        yield offered
