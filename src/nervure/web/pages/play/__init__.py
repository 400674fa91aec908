"""People play in the browser: lobby, table, class, what is told after the game."""

from nervure.web.pages.play.route import PAGE

__all__ = ["PAGE"]
