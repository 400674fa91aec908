"""The same games played by the engine and by the slow table, side by side."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Sequence
from typing import Any, Literal

import numpy as np
from slow_rules import (
    Beliefs,
    FactBook,
    StrandBook,
    Stream,
    Table,
    columns_of,
    eager_move,
    play_by_chance,
    refused_by,
)
from slow_rules.cards import WILD_ANY, Strand
from slow_rules.moves import strand_order

from nervure.engine import Games, Move, MoveNumber, Position, play
from nervure.game import Game
from nervure.game.compile import compile_game

IDENTITY = ("deal", "rotation")


def differences(games: Games, row: int, expected: dict[str, Any]) -> dict[str, Any]:
    """Give the columns of a row that differ: name -> (engine, slow table)."""
    found = {}
    for name, column in games.columns().items():
        if name not in IDENTITY:
            value = np.asarray(column[row]).tolist()
            if value != expected[name]:
                found[name] = (value, expected[name])
    return found


def compare_by_chance(
    game: Game,
    seats: int,
    *,
    seed: int,
    deals: int,
    first_deal: int = 0,
    rotations: Literal["one", "all"] = "one",
    book: StrandBook | None = None,
) -> int:
    """Compare every column of games by players of style chance; give the number of games."""
    played = play(
        compile_game(game, seats),
        ["chance"] * seats,
        seed=seed,
        first_deal=first_deal,
        deals=deals,
        rotations=rotations,
    )
    book = book or StrandBook(game)
    for row in range(len(played)):
        sitting = [int(player) for player in played.player[row]]
        table = play_by_chance(game, sitting, seed, int(played.deal[row]), book)
        differ = differences(played, row, columns_of(table, sitting))
        assert not differ, f"deal {played.deal[row]}, sitting {sitting}: {differ}"
    return len(played)


def sitting_of(seats: int, deal: int, rotation: int) -> list[int]:
    """Give the player in each seat when every rotation of a deal is played.

    docs/measures.md: the line-up turns round the table, and backwards on odd deals from
    three players on.
    """
    places = list(range(seats))
    if seats >= 3 and deal % 2 == 1:
        places.reverse()
    sitting = [0] * seats
    for player, place in enumerate(places):
        sitting[(place + rotation) % seats] = player
    return sitting


def state_of_table(table: Table) -> dict[str, Any]:
    """Give all that a slow table holds, by name."""
    return {
        "finished": table.finished,
        "turn": table.turn,
        "seat to move": table.decider,
        "legal": list(table.legal),
        "stock": [card.kind for card in table.stock],
        "display": _counted(card.kind for card in table.display),
        "pile": _counted(card.kind for card in table.pile),
        "target stock": [card.kind for card in table.target_stock],
        "open": [card.kind if card else None for card in table.open_targets],
        "secret": [[card.kind for card in seat.secrets] for seat in table.seats],
        "hands": [_counted(card.kind for card in seat.hand) for seat in table.seats],
        "strands": [_strands_of(table, seat.strands) for seat in table.seats],
        "points": [seat.points for seat in table.seats],
        "claims": [len(seat.claims) for seat in table.seats],
    }


def _counted(kinds: Iterable[str]) -> dict[str, int]:
    return dict(Counter(kinds))


def _strands_of(table: Table, strands: Sequence[Strand]) -> list[tuple[Any, ...]]:
    found: dict[tuple[int, ...], list[Any]] = {}
    for strand in strands:
        slots: list[str | None] = [None] * table.tiers
        for tier, card in strand.cards.items():
            is_any = card.kind == WILD_ANY
            slots[tier] = f"{WILD_ANY}@{table.game.tiers[tier]}" if is_any else card.kind
        seen = found.setdefault(strand_order(table, strand), [tuple(slots), strand.gap or 0, 0])
        seen[-1] += 1
    return [tuple(found[place]) for place in sorted(found)]


def as_slow_move(move: Move) -> tuple[int, ...]:
    """Give an engine's move as the slow table names it; a reply is 0 let or 1 cancel there."""
    if move.number in (MoveNumber.LET, MoveNumber.CANCEL):
        return (move.number - MoveNumber.LET,)
    return (move.number, *move.args)


def state_of_position(position: Position) -> dict[str, Any]:
    """Give all that a position of the engine holds, by the same names."""
    seats = range(position.tables.seats)
    return {
        "finished": position.finished,
        "turn": position.turn,
        "seat to move": position.seat_to_move,
        "legal": [as_slow_move(move) for move in position.legal_moves()],
        "stock": list(position.stock),
        "display": position.display,
        "pile": position.pile,
        "target stock": list(position.target_stock),
        "open": list(position.open_targets),
        "secret": [list(position.secret_targets(seat)) for seat in seats],
        "hands": [position.hand(seat) for seat in seats],
        "strands": [
            [(strand.slots, strand.gap, strand.copies) for strand in position.strands(seat)]
            for seat in seats
        ],
        "points": [position.points(seat) for seat in seats],
        "claims": [position.claims(seat) for seat in seats],
    }


def beliefs_of(
    facts: FactBook, seed: int, deal: int, line_up: Sequence[str]
) -> list[Beliefs | None]:
    """Give what the players of a line-up believe, None for one who knows everything."""
    found: list[Beliefs | None] = []
    for player, name in enumerate(line_up):
        _, _, share = name.partition("@")
        thousandths = round(float(share or 1) * 1000)
        believes = Beliefs(facts, seed, deal, player, thousandths) if thousandths < 1000 else None
        found.append(believes)
    return found


def compare_played(
    game: Game, line_up: Sequence[str], table: Table, *, seed: int, deal: int, facts: FactBook
) -> None:
    """Compare all columns, facts enacted and refusals of a game with its slow table."""
    seats = len(line_up)
    played = play(
        compile_game(game, seats), line_up, seed=seed, first_deal=deal, deals=1, facts=True
    )
    differ = differences(played, 0, columns_of(table, range(seats), facts))
    assert not differ, f"played at once: {differ}"
    assert dict(played.refused_by) == refused_by(table, facts)


def compare_step_by_step(
    game: Game,
    seats: int,
    *,
    seed: int,
    deal: int,
    line_up: Sequence[str] | None = None,
    book: StrandBook | None = None,
    facts: FactBook | None = None,
    is_eager: bool = False,
) -> Table:
    """Compare list and state at every decision of a game, then its columns.

    The moves are those of the engine's styles in the line-up, else (or if ``is_eager``, with
    the knowledge of the line-up) eager ones. Gives the slow table at the end of the game.
    """
    book = book or StrandBook(game)
    facts = facts or FactBook(book)
    beliefs = beliefs_of(facts, seed, deal, line_up or ())
    table = Table(game, seats, seed, deal, book, beliefs)
    position = Position.start(compile_game(game, seats), seed, deal, line_up=line_up or ())
    chance = Stream(seed)
    while True:
        ours, theirs = state_of_table(table), state_of_position(position)
        differ = {name: (theirs[name], ours[name]) for name in ours if theirs[name] != ours[name]}
        assert not differ, f"turn {table.turn}: {differ}"
        if table.finished:
            break
        if line_up is None or is_eager:
            move = eager_move(table.legal, chance)
        else:
            move = as_slow_move(position.choose(line_up))
        place = table.legal.index(move)
        table.apply(move)
        position.apply(place)
    differ = differences(position.result(), 0, columns_of(table, range(seats)))
    assert not differ, f"at the end: {differ}"
    return table
