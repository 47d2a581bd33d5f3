"""Settings of the property tests in this folder."""

from hypothesis import settings

# No deadline: the first example of a test may compile. Derandomised: the same examples in every run, so a pass can be repeated.
settings.register_profile("compiled", deadline=None, derandomize=True, database=None)
settings.load_profile("compiled")
