"""The page `cards`."""

from nervure.web.pages.cards.route import PAGE

__all__ = ["PAGE"]
