"""Playtests: complete games by the thousand, measured and judged against the author's goals."""

from nervure.playtest.pace import TimedGame
from nervure.playtest.plan import STYLES, Experiment, line_up_plan, make_plan
from nervure.playtest.proofs import evidence_of
from nervure.playtest.request import Options, run
from nervure.playtest.run import Evidence, Onlooker, Played, play_plan, summarize
from nervure.playtest.store import read_result
from nervure.playtest.verdicts import judge

__all__ = [
    "STYLES",
    "Evidence",
    "Experiment",
    "Onlooker",
    "Options",
    "Played",
    "TimedGame",
    "evidence_of",
    "judge",
    "line_up_plan",
    "make_plan",
    "play_plan",
    "read_result",
    "run",
    "summarize",
]
