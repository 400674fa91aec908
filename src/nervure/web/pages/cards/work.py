"""Printing as a job: one thing after the other, stopped between them."""

from __future__ import annotations

from typing import Any

from nervure.game import Game
from nervure.press import print_deck
from nervure.table import Job, Progress, Stop, Work
from nervure.web.bench import Bench

PRINT = "print"
CHOICES = ("cards", "backs", "sheets")


def works(bench: Bench) -> dict[str, Work]:
    """Give what does the page's jobs."""
    say = bench.view.say

    def work(job: Job, progress: Progress, stop: Stop) -> dict[str, Any]:
        opened = bench.project(job.project)
        game = opened.read().project.require_sound()
        options = job.options
        wanted = (*options["what"], "previews")
        asked = 0

        def step(name: str, done: int, total: int) -> None:
            nonlocal asked
            asked = done + 1
            progress(say(f"web.cards.sets-{name}"), done, total)

        progress(say("web.cards.setting"), 0, 0)
        made = print_deck(
            game,
            opened.path / "out" / "print",
            wanted,
            options["paper"],
            grey=options["grey"],
            decks=options.get("decks", 1),
            language=options.get("language"),
            progress=step,
            stop=stop,
        )
        key = "refused" if made.refused else "fits"
        return {
            "sentence": say(f"web.cards.{key}", count=len(made.refused)),
            "complete": asked == len(wanted),
        }

    return {PRINT: work}


def told(bench: Bench, game: Game, card: str) -> str:
    """Give what a card's picture shows, in words: name, tier or kind, fibres."""
    anatomy = game.anatomy
    if card in game.structures:
        tier = next(row.name for row in anatomy.map.tiers if row.id == anatomy.tier_of(card))
        name = anatomy.structure(card).name
        shorts = [anatomy.structure(one).short or one for one in anatomy.reach(card)]
        reached = ", ".join(shorts) or "–"
        return bench.view.say(
            "web.cards.part",
            **{**dict(game.folder.words), "name": name, "tier": tier, "reached": reached},
        )
    if card in game.targets:
        return bench.view.say("web.cards.target", name=anatomy.target(card).name)
    if card in ("back-part", "back-target"):
        return bench.view.say(f"web.cards.{card}")
    return bench.view.say("web.cards.other", name=card.replace(":", " "))
