"""What all tests share: generated examples are the same in every run, and nobody times them.

`--hypothesis-profile thorough` draws twenty times as many, by `--hypothesis-seed`; `make fuzz` does.
"""

from hypothesis import HealthCheck, settings

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
