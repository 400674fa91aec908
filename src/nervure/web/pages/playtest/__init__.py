"""Playtest: games by the thousand, watched while they run, judged against the goals."""

from nervure.web.pages.playtest.route import PAGE

__all__ = ["PAGE"]
