"""The page `map`."""

from nervure.web.pages.map.route import PAGE

__all__ = ["PAGE"]
