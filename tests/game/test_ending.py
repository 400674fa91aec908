"""The end as `check` reasons it, against every line of play of a game small enough for it.

Each state that a game of a few cards can come to is visited by depth first; a state that is
met again on the way that led to it is a game that can be played for ever. `check` must name
moves for each such design, and for no other of these.
"""

from __future__ import annotations

from itertools import product
from typing import Any

import pytest

from nervure.engine import EndedBy, Position, play
from nervure.engine.layout import SEAT_NUMBERS, Number, Seat
from nervure.game import Game
from nervure.game.compile import compile_game
from nervure.game.ending import ending, safety_bound

MOST_STATES = 30_000
TURN = (
    *(Number.SEAT, Number.DRAWS, Number.PLAYS, Number.BEGAN, Number.FRESH, Number.STILL),
    *(Number.ROBBED, Number.PASSED, Number.LAST_ROUND),
)


def _state(position: Position) -> tuple[Any, ...]:
    """Give all that decides how the game can go on, save the count of turns."""
    numbers, seats = position._numbers, range(position.tables.seats)
    late = [Number.SEATS + seat * SEAT_NUMBERS + Seat.LATE_LIFTS for seat in seats]
    return (
        *(int(numbers[place]) for place in (*TURN, *late)),
        (position.stock, position.target_stock, position.open_targets),
        tuple(sorted(position.display.items())),
        *(tuple(sorted(position.hand(seat).items())) for seat in seats),
        *(position.strands(seat) for seat in seats),
    )


def can_go_on_for_ever(game: Game, seats: int, seed: int) -> bool:
    """Search every line of play of one deal for a state that comes again."""
    start = Position.start(compile_game(game, seats), seed)
    first = _state(start)
    on_the_way, done = {first}, set()
    stack = [(start, first, iter(range(len(start.legal_moves()))))]
    while stack:
        position, state, moves = stack[-1]
        for move in moves:
            later = position.clone()
            later.apply(move)
            if later.finished:
                assert later.ended_by != EndedBy.UNFINISHED
                continue
            found = _state(later)
            if found in on_the_way:
                return True
            if found not in done:
                assert len(done) < MOST_STATES, "too large a game to search"
                on_the_way.add(found)
                stack.append((later, found, iter(range(len(later.legal_moves())))))
                break
        else:
            stack.pop()
            on_the_way.discard(state)
            done.add(state)
    return False


# One root, two nerves; a strand of two claims. Six cards, one of them the opening hand.
MAP = {"tiers": "root: r1\nnerve: a b", "links": "r1 a\nr1 b", "supplies": "ma a\nmb b"}
DECK = [("r1", 2), ("a", 3), ("b", 1)]
LARGER_DECK = [("r1", 4), ("a", 4), ("b", 2)]  # six are gone before two can be lifted
RULES = {"players": (1, 1), "hand": 1, "display": 0, "open_targets": 1, "end": "claims: 2"}
DRAWS = (["stock", "lift"], ["lift"], ["stock", "swap"], ["swap", "lift"])
KEYS = ("draw_count", "play_count", "must_play", "refill", "draws", "swapped_go", "join")
ALL = [
    dict(zip(KEYS, values, strict=True))
    for values in product(
        (1, 2),
        (1, 2),
        (True, False),
        (True, False),
        DRAWS,
        ("under", "pile"),
        ("any-time", "instead-of-play"),
    )
    if "swap" in values[4] or values[5] == "under"
]


def _id(rules: dict[str, Any]) -> str:
    return "-".join("+".join(v) if isinstance(v, list) else str(v) for v in rules.values())


def _holds(make_game: Any, make_map: Any, rules: dict[str, Any]) -> None:
    lifts_two = (rules["draw_count"], rules["play_count"], rules["swapped_go"]) == (2, 2, "pile")
    deck, hand = DECK, 1
    if lifts_two and "lift" in rules["draws"]:
        deck, hand = LARGER_DECK, 2
    game = make_game({**RULES, **rules, "hand": hand}, deck, make_map(**MAP))
    assert game.ok
    (found,) = ending(game)
    for_ever = any(can_go_on_for_ever(game, 1, seed) for seed in range(2))
    assert for_ever == bool(found.moves), found.moves


@pytest.mark.parametrize("rules", ALL[::9], ids=_id)
def test_a_game_can_go_on_for_ever_where_check_names_moves_and_nowhere_else(
    make_game: Any, make_map: Any, rules: dict[str, Any]
) -> None:
    _holds(make_game, make_map, rules)


@pytest.mark.long
@pytest.mark.parametrize("rules", ALL, ids=_id)
def test_the_same_for_all_ways_to_draw_and_play(
    make_game: Any, make_map: Any, rules: dict[str, Any]
) -> None:
    _holds(make_game, make_map, rules)


TAKES = ["stock", "lift", "take-loose"]


@pytest.mark.parametrize(
    "rules",
    [
        {"draws": ["stock", "take-loose"]},
        {"draws": TAKES, "play_count": 2},
        pytest.param({"draws": TAKES, "draw_count": 2}, marks=pytest.mark.long),
        pytest.param({"draws": TAKES, "draw_count": 3}, marks=pytest.mark.long),
        {"draws": ["stock", "swap"], "swapped_go": "under", "display": 1},
        {"draws": ["stock", "display", "lift"], "draw_count": 2, "display": 1},
        {"draws": ["stock"], "may_pass": "always", "end": "all-passed"},
        {"draws": ["stock", "lift"], "may_pass": "always", "draw_count": 2},
    ],
    ids=_id,
)
def test_no_line_of_play_of_two_goes_on_for_ever_where_check_calls_the_end_certain(
    make_game: Any, make_map: Any, rules: dict[str, Any]
) -> None:
    game = make_game({**RULES, "players": (2, 2), **rules}, DECK, make_map(**MAP))
    assert game.ok
    assert ending(game)[0].verdict == "certain"
    assert not can_go_on_for_ever(game, 2, seed=1)


def test_a_variant_card_need_not_be_played_and_can_be_swapped_for_ever(
    make_game: Any, make_map: Any
) -> None:
    rules = {**RULES, "draws": ["swap"], "swapped_go": "under"}
    deck = [("r1", 1), ("a", 1), ("b", 1), ("variant", 4)]
    game = make_game(rules, deck, make_map(**MAP))
    assert game.ok

    assert ending(game)[0].moves == ("swap",)
    assert any(can_go_on_for_ever(game, 1, seed) for seed in range(2))


# 4 x part cards + 100 turns, docs/rules.md; ten part cards: 140.
@pytest.mark.parametrize(
    ("end", "verdict"),
    [
        ("rounds: 70", "certain"),  # 2 x 70 = 140 turns
        ("rounds: 71", "stallable"),
        ("clock: 70", "certain"),  # of 60 seconds a turn: turn 70, which ends round 35
        ("clock: 140", "certain"),
        ("clock: 141", "stallable"),
        ("claims: 2", "stallable"),
    ],
)
def test_rounds_and_the_clock_end_a_game_unless_the_safety_bound_comes_first(
    make_game: Any, end: str, verdict: str
) -> None:
    rules = {**RULES, "players": (2, 2), "draws": ["stock", "lift"], "refill": False}
    game = make_game({**rules, "end": end}, goals={"seconds_per_turn": 60})
    assert game.ok
    assert safety_bound(game) == 140
    assert ending(game)[0].verdict == verdict

    played = play(compile_game(game, 2), ["chance"] * 2, seed=1, deals=200)
    if verdict == "certain":
        assert EndedBy.UNFINISHED not in played.ended_by


@pytest.mark.parametrize(
    ("rules", "tables", "verdict"),
    [
        # 2 claims of 6 cards are more than the 10 part cards; one bonus makes them shorter.
        ({"end": "claims: 2", "claim_minimum": 3}, {}, "out-of-reach"),
        ({"end": "claims: 2", "claim_minimum": 3}, {"does": ["short-claim 1"]}, "certain"),
        # Passing waits for a stock that nothing empties; all ten cards dealt, it is empty.
        ({"end": "all-passed", "refill": False, "draws": []}, {}, "out-of-reach"),
        ({"end": "all-passed", "refill": False, "draws": [], "hand": 10}, {}, "certain"),
        ({"end": "stock-empty", "refill": False, "draws": [], "hand": 10}, {}, "certain"),
    ],
)
def test_an_end_is_out_of_reach_only_if_nothing_leads_to_it(
    make_game: Any, rules: dict[str, Any], tables: dict[str, Any], verdict: str
) -> None:
    more: dict[str, Any] = {}
    deck: list[tuple[Any, ...]] = []
    if rules.get("claim_minimum"):
        deck = [(name, 1) for name in ("r1", "r2", "t", "a", "b")]
    if tables:
        more = {"bonus": [{"id": "shears", "when": "lasting", **tables}]}
    game = make_game({**RULES, "may_pass": "stock-empty", **rules}, deck, **more)

    assert ending(game)[0].verdict == verdict
