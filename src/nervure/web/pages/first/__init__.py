"""The page `first`."""

from nervure.web.pages.first.route import PAGE

__all__ = ["PAGE"]
