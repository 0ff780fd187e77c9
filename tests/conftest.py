"""Hypothesis runs the same cases on every machine, so that a red build can be repeated."""

from hypothesis import settings

settings.register_profile("repeatable", derandomize=True, deadline=None, max_examples=60)
settings.load_profile("repeatable")
