"""The page `rules`."""

from nervure.web.pages.rules.route import PAGE

__all__ = ["PAGE"]
