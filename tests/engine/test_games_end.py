"""Games of designs unlike the bundled ones come to an end, or `check` has told by what moves not.

Each design is a bundled game under other rules, or one of the golden designs; the maps are
large enough that nothing is decided by there being too few cards. Where `nervure.game.ending`
calls the end certain, no game may be cut short at the safety bound; where it names moves, the
games that are cut short must be full of those moves.
"""

from __future__ import annotations

from collections import Counter
from dataclasses import replace
from functools import cache
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from nervure.engine import EndedBy, MoveNumber, Position, play
from nervure.errors import Place
from nervure.game import Game, compile_game, ending, read_game
from nervure.maps import game_folder
from nervure.project import read_folder
from nervure.project.records import DeckRow

GOLDEN = Path(__file__).parent.parent / "golden" / "designs"
STYLES = ("chance", "sprinter", "builder")
GAMES, MANY = 300, 10_000
HERE = Place("deck.csv", 2)

LIFTS = ("stock", "display", "lift")
ALL_DRAWS = ("stock", "display", "swap", "take-loose", "lift")
BONUSES = (
    {"id": "draws", "when": "one-time", "does": ("draw 2", "play 1")},
    {"id": "shops", "when": "one-time", "does": ("exchange-open", "move-end")},
    {"id": "grabs", "when": "one-time", "does": ("take-any-loose", "points 2")},
    {"id": "holds", "when": "lasting", "does": ("guard-loose", "hand 2")},
    {"id": "cuts", "when": "lasting", "does": ("short-claim 1",)},
    {"id": "pays", "when": "lasting", "does": ("points 1 muscle",)},
    {"id": "bars", "when": "reply", "does": ("cancel-take",)},
)
WILDS = (
    DeckRow("wild:any", 4, None, "", HERE),
    DeckRow("wild:root", 3, None, "", HERE),
    DeckRow("variant", 6, None, "", HERE),
)

# Name: rules of the giant's leg that are other, then other tables and rows of the deck.
VARIATIONS: dict[str, tuple[dict[str, Any], dict[str, Any]]] = {
    "takes only": ({"draws": ("stock", "take-loose"), "must_play": False}, {}),
    "takes, any strand claims": (
        {"draws": ("stock", "take-loose"), "supply": "last-card", "claim_needs": ()},
        {},
    ),
    "lifts": ({"draws": LIFTS, "claim_minimum": 2}, {}),
    "lifts, more draws than plays": ({"draws": LIFTS, "draw_count": 3}, {}),
    "lifts, more plays than draws": ({"draws": LIFTS, "draw_count": 1}, {}),
    "lifts, rounds": ({"draws": LIFTS, "end": ("rounds: 12",)}, {}),
    "lifts, rounds past the bound": ({"draws": ("stock", "lift"), "end": ("rounds: 400",)}, {}),
    "lifts and nothing else": (
        {"draws": ("lift",), "refill": False, "end": ("claims: 4",)},
        {},
    ),
    "lifts, far claims": ({"draws": LIFTS, "refill": False, "end": ("claims: 30",)}, {}),
    "swaps under": ({"draws": ("stock", "swap"), "swapped_go": "under"}, {}),
    "swaps under, plays left out": (
        {"draws": ("swap",), "swapped_go": "under", "must_play": False},
        {},
    ),
    "secret targets": ({"open_targets": 0, "secret_targets": 3, "end": ("points: 12",)}, {}),
    "secret and open": ({"open_targets": 2, "secret_targets": 2}, {}),
    "passing once the stock is empty": ({"may_pass": "stock-empty", "end": ("claims: 9",)}, {}),
    "all pass": ({"may_pass": "always", "end": ("all-passed",)}, {}),
    "all pass once the stock is empty": ({"may_pass": "stock-empty", "end": ("all-passed",)}, {}),
    "passing always, far claims": ({"may_pass": "always", "end": ("claims: 20",)}, {}),
    "bonuses on the first tier": (
        {"claim_needs": ("origin",), "supply": "last-card", "full_strand": "deck"},
        {"bonus": BONUSES, "bonuses": {"printed_on": "root"}},
    ),
    "bonuses on targets": ({"supply": "last-card", "full_strand": "deck"}, {"bonus": BONUSES}),
    "wild and variant cards": ({"claim_real": 1}, {"deck": WILDS}),
    "wild, variant, lifts, bonuses": (
        {"draws": ALL_DRAWS, "end": ("points: 30",)},
        {"deck": WILDS, "bonus": BONUSES},
    ),
    "six at the table": ({"players": (5, 6), "hand": 4, "display": 3}, {}),
    "six at the table, plays left out": ({"players": (6, 6), "hand": 4, "must_play": False}, {}),
    "solitaire": ({"players": (1, 1)}, {}),
    "solitaire, every draw": ({"players": (1, 1), "draws": ALL_DRAWS, "end": ("claims: 30",)}, {}),
    "no display": ({"display": 0, "draws": ("stock",)}, {}),
    "no draws": ({"draws": (), "display": 0}, {}),
    "neighbours": ({"connect": "neighbours", "insert": True}, {}),
    "neighbours, no tier left out": ({"connect": "neighbours", "skip_tiers": False}, {}),
    "all in place of a play": (
        {"join": "instead-of-play", "claim": "instead-of-play", "draws": ALL_DRAWS},
        {},
    ),
    "far points": ({"end": ("points: 60",)}, {}),
    "the clock": ({"end": ("clock: 20",)}, {}),
    "the clock, lifts": ({"end": ("clock: 20",), "draws": LIFTS}, {}),
    "the stock": ({"end": ("stock-empty",), "refill": False}, {}),
    "every end": (
        {
            "end": ("claims: 9", "points: 60", "rounds: 60", "stock-empty", "clock: 60"),
            "may_pass": "always",
        },
        {},
    ),
    "every end, all pass": (
        {"end": ("claims: 9", "points: 60", "all-passed"), "may_pass": "always"},
        {},
    ),
}
NAMES = [*VARIATIONS, *(folder.name for folder in sorted(GOLDEN.iterdir()))]


@cache
def _game(name: str) -> Game:
    if name not in VARIATIONS:
        return read_game(read_folder(GOLDEN / name))
    rules, more = VARIATIONS[name]
    folder = read_folder(game_folder("giants-leg"))
    settings = dict(folder.settings)
    settings["rules"] = {**settings["rules"], **rules}
    settings.update({table: value for table, value in more.items() if table != "deck"})
    added = {row.card: row for row in more.get("deck", ())}
    deck = (*(row for row in folder.deck if row.card not in added), *added.values())
    game = read_game(replace(folder, settings=settings, deck=deck))
    assert game.ok, [fault.message for fault in game.faults if fault.level == "error"]
    return game


def _cut_short(game: Game, seats: int, style: str, number: int) -> np.ndarray[Any, Any]:
    """Give the deals, of so many, whose game is cut short at the safety bound."""
    tables = compile_game(game, seats)
    games = play(tables, [style] * seats, seed=7, deals=number)
    return games.deal[games.ended_by == EndedBy.UNFINISHED]


def _end_or_are_told(name: str, number: int) -> None:
    game = _game(name)
    for reasoned in ending(game):
        for style in STYLES:
            cut = len(_cut_short(game, reasoned.players, style, number))
            if reasoned.verdict == "certain":
                assert cut == 0, (style, reasoned)
            assert cut <= number / 1000 or reasoned.moves, (style, reasoned)


@pytest.mark.parametrize("name", NAMES)
def test_a_design_comes_to_an_end_or_check_has_said_how_it_does_not(name: str) -> None:
    _end_or_are_told(name, GAMES)


@pytest.mark.long
@pytest.mark.parametrize("name", NAMES)
def test_ten_thousand_games_come_to_an_end_or_check_has_said_how_not(name: str) -> None:
    _end_or_are_told(name, MANY)


@pytest.mark.parametrize(
    ("name", "style", "seats"),
    [
        ("lifts, rounds past the bound", "chance", 2),
        ("swaps under, plays left out", "builder", 4),
        ("swaps under, plays left out", "sprinter", 3),
    ],
)
def test_a_game_that_is_cut_short_is_full_of_the_moves_that_check_names(
    name: str, style: str, seats: int
) -> None:
    game = _game(name)
    cut = _cut_short(game, seats, style, GAMES)
    assert len(cut) > 0
    position = Position.start(compile_game(game, seats), 7, int(cut[0]))
    made: Counter[int] = Counter()
    while not position.finished:
        move = position.choose([style] * seats)
        if position.turn > 2 * game.part_cards:  # long after the game might have ended
            made[move.number] += 1
        position.apply(move)
    named = {MoveNumber[move.upper()] for move in ending(game)[0].moves}
    rounds = (position.turn - 2 * game.part_cards) // seats
    assert sum(made[move] for move in named) >= rounds
