"""The page `kept`."""

from nervure.web.pages.kept.route import PAGE

__all__ = ["PAGE"]
