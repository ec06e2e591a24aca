"""Shared settings: Hypothesis without deadlines, since two busy cores are slow now and then."""

from hypothesis import settings

settings.register_profile("reviewer", deadline=None, print_blob=True)
settings.load_profile("reviewer")
