"""What all tests share: generated examples are the same in every run, and nobody times them. A test that hangs ends.

`--hypothesis-profile thorough` draws twenty times as many, by `--hypothesis-seed`; `make fuzz` does.
"""

import pytest
from hypothesis import HealthCheck, settings

LIMIT_S = {"long": 600, "browser": 600, "emulated": 3600, "soak": 6 * 3600}
"""When a test of a marker hangs; one without is given two minutes (pyproject.toml)."""

settings.register_profile("repeatable", derandomize=True, deadline=None, suppress_health_check=[HealthCheck.too_slow])
settings.register_profile(
    "thorough",
    max_examples=2_000,
    deadline=None,
    database=None,
    print_blob=True,
    suppress_health_check=list(HealthCheck),
)
settings.load_profile("repeatable")


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Give every test the time of its marker."""
    for item in items:
        for marker, limit_s in LIMIT_S.items():
            if item.get_closest_marker(marker):
                item.add_marker(pytest.mark.timeout(limit_s))
