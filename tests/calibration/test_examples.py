"""The examples of docstrings run and say what they say."""

import doctest

import pytest

from hingeline_calibration import calibration


@pytest.mark.parametrize("module", [calibration], ids=lambda module: module.__name__)
def test_examples(module):
    result = doctest.testmod(module)
    assert result.attempted > 0
    assert result.failed == 0
