"""Fixtures that several files of tests share."""
from hypothesis import settings
from review_browser import address, browser, session, window

settings.register_profile("any machine", deadline=None)  # a busy machine is no fault of the code
settings.load_profile("any machine")

__all__ = ["address", "browser", "session", "window"]
