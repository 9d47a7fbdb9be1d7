"""What all tests share: generated examples are the same in every run, and nobody times them."""

from hypothesis import settings

settings.register_profile("repeatable", derandomize=True, deadline=None)
settings.load_profile("repeatable")
