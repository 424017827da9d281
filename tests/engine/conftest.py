"""Property tests: no time limit on one example (the machine may be busy), and the same examples on every run."""

from hypothesis import settings

settings.register_profile("soundings", deadline=None, derandomize=True)
settings.load_profile("soundings")
