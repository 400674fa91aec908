"""What a verb found, in a sentence, from its data."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from nervure import words
from nervure.api.result import many


def check_summary(data: Mapping[str, Any]) -> str:
    """Say how many things were proved, and how many faults there are."""
    errors = sum(fault["level"] == "error" for fault in data["faults"])
    counts = {
        "errors": many("cli.errors", errors),
        "warnings": many("cli.warnings", len(data["faults"]) - errors),
    }
    key = "cli.check-good" if data["ok"] else "cli.check-faulty"
    return words.say(key, **counts, **data["map"])


def playtest_summary(data: Mapping[str, Any]) -> str:
    """Say how many games were played, and how many goals are met."""
    marks = [verdict["verdict"] for verdict in data["verdicts"]]
    found = [
        many(f"cli.goals-{mark}", marks.count(mark))
        for mark in ("fails", "watch", "holds", "certain", "open")
        if mark in marks
    ]
    games = f"{data['games']:,}".replace(",", "\N{NARROW NO-BREAK SPACE}")
    played = words.say("cli.played", games=games, seed=data["seed"])
    goals = words.say("cli.goals", found=", ".join(found)) if found else words.say("cli.no-goals")
    return f"{played} {goals}"


def print_summary(data: Mapping[str, Any]) -> str:
    """Say how many files were made, and whether every text fits."""
    refused = len(data["refused"])
    fits = many("cli.unfit", refused) if refused else words.say("cli.all-fits")
    return f"{many('cli.files', len(data['files']))} {fits}"
