"""Fixtures that several files of tests share."""
from review_browser import address, browser, session, window

__all__ = ["address", "browser", "session", "window"]
