"""``out/playtest/index.html``: verdicts first, then the plates, then every figure as a table."""

from __future__ import annotations

from markupsafe import Markup

from nervure.game import Game
from nervure.records import PlaytestResult
from nervure.report.pages import asset, render
from nervure.report.playtest_parts import PlaytestParts
from nervure.report.playtest_rows import marks_of


def playtest_page(result: PlaytestResult, game: Game) -> str:
    """Give the page of a playtest as HTML that holds everything it needs.

    Parameters
    ----------
    result
        What a playtest found (`nervure.records`).
    game
        The game that was played: names, goals, map.

    Raises
    ------
    ValueError
        The result is one of another design: its figures would stand beside wrong names.
    """
    if result.design != game.version:
        raise ValueError(f"result of design {result.design}, game of design {game.version}")
    parts = PlaytestParts(result, game)
    leaf, exposure = parts.leaf, parts.exposure
    return render(
        "playtest.html",
        title=parts.tell("title"),
        game=game.title,
        language=parts.talk.language,
        steps=parts.steps,
        marks=marks_of(game),
        css=asset("playtest.css") + "".join(one.css for one in (leaf, exposure) if one),
        result=result,
        talk=parts.talk,
        parts=parts,
        leaf=None if leaf is None else Markup(leaf.svg),
        exposure=None if exposure is None else Markup(exposure.svg),
    )
