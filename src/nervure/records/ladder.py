"""How the steps of the skill ladder are said, in verdicts and pages alike."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from nervure import words
from nervure.records.figures import places_for, say_figure
from nervure.records.playtest import Measure


def ladder_steps(measure: Measure) -> Sequence[Mapping[str, Any]]:
    """Give the steps of a skill ladder: style, below, share, interval, games, clear."""
    steps: Sequence[Mapping[str, Any]] = measure.details.get("steps", ())
    return steps


def say_ladder(measure: Measure, language: str = "en") -> str:
    """Say which steps are clear of one half; blank where no steps are kept."""
    steps = ladder_steps(measure)
    if not steps:
        return ""
    clear = _listed([step for step in steps if step["clear"]], language)
    unclear = _listed([step for step in steps if not step["clear"]], language)
    key = "flat" if not clear else "some" if unclear else "all"
    return words.say(f"playtest.ladder.{key}", language, clear=clear, unclear=unclear)


def _listed(steps: Sequence[Mapping[str, Any]], language: str) -> str:
    return ", ".join(
        words.say(
            "playtest.ladder.step",
            language,
            style=step["style"],
            below=step["below"],
            share=say_figure(step["share"], "share", places_for(tuple(step["interval"]), "share")),
        )
        for step in steps
    )
