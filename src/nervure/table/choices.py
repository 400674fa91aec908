"""What a seat may choose from, as much of it as the level of help lets through.

0: every connection that could be put on the table at all; 1: those for which there is room;
2: those that are legal; 3: the same, with why each holds and which claims are near. Moves
that are no matter of facts (drawing, laying, ending ...) are always shown.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from nervure.engine import Move, MoveNumber
from nervure.game.deck import VARIANT
from nervure.table.course import Course
from nervure.table.events import move_sentence
from nervure.table.moves import move_id
from nervure.table.referee import CONNECTIONS, PHYSICAL, Explanation
from nervure.table.state import cards_to_claim, loose_kind, placed_kinds_of

NO_HELP, ROOM, LEGAL, REASONS = 0, 1, 2, 3
GAP_CODES = frozenset({"over-a-gap", "fits-without-gap"})


def choices(game: Course, seat: int) -> list[dict[str, Any]]:
    """Give what a seat that is to decide may choose from, as plain data."""
    level = game.help_level
    legal = game.position.legal_moves()
    found = [_choice(game, seat, move) for move in legal if move.number not in CONNECTIONS]
    look = game.referee.look(game.position, seat)
    for move in dict.fromkeys(_connections(game, seat)):
        why = look.explain(move)
        if _is_shown(why, level, move):
            found.append(_choice(game, seat, move, why))
    return found


def _is_shown(why: Explanation, level: int, move: Move) -> bool:
    if level >= LEGAL:
        return why.holds
    if move.number == MoveNumber.ATTACH_GAP:  # that it fits plainly must not be given away
        return why.code in GAP_CODES or (level == NO_HELP and why.code in PHYSICAL)
    return why.holds or why.of_facts or (level == NO_HELP and why.code in PHYSICAL)


def _choice(game: Course, seat: int, move: Move, why: Explanation | None = None) -> dict[str, Any]:
    """Give one choice; ``legal`` is None where the level of help does not tell."""
    tells = why is None or game.help_level >= LEGAL
    return {
        "id": move_id(move),
        "kind": MoveNumber(move.number).name.lower().replace("_", "-"),
        "text": move_sentence(game.naming, game.position, seat, move, game.who, "move").strip(),
        "legal": True if tells else None,
        "why": why.sentence if why is not None and game.help_level >= REASONS else None,
        **_parts(game, seat, move),
    }


def _parts(game: Course, seat: int, move: Move) -> dict[str, Any]:
    """Give what a choice is about, for a page on which cards are pointed at."""
    tables, args = game.tables, move.args
    parts: dict[str, Any] = {"card": None, "strands": [], "target": None, "rival": None}
    if move.number in (MoveNumber.DRAW_DISPLAY, MoveNumber.SWAP):
        parts["card"] = tables.hand_kinds[args[0]]
    elif move.number == MoveNumber.LAY:
        parts["card"] = tables.placed_kinds[args[0]]
    elif move.number in (MoveNumber.ATTACH, MoveNumber.ATTACH_GAP):
        parts |= {"card": tables.placed_kinds[args[1]], "strands": [args[0]]}
    elif move.number == MoveNumber.TAKE_LOOSE:
        parts |= {
            "card": tables.placed_kinds[args[2]],
            "strands": [args[1]],
            "rival": (seat + args[0]) % tables.seats,
        }
    elif move.number == MoveNumber.LIFT:
        parts |= {"strands": [args[0]], "end": "distal" if args[1] else "proximal"}
    elif move.number == MoveNumber.JOIN:
        parts["strands"] = list(args)
    elif move.number == MoveNumber.CLAIM:
        parts |= {"strands": [args[0]], "target": tables.targets[args[1]]}
    elif move.number == MoveNumber.USE:
        parts["bonus"] = tables.bonus_ids[args[0]]
    return parts


def _connections(game: Course, seat: int) -> Iterator[Move]:
    """Give every connection that a seat could try with what it has and sees."""
    position, tables = game.position, game.tables
    strands = range(len(position.strands(seat)))
    held = [
        tables.placed_kinds.index(name)
        for kind in position.hand(seat)
        if kind != VARIANT
        for name in placed_kinds_of(tables, kind)
    ]
    numbers = [MoveNumber.ATTACH]
    if position.hand(seat).get(VARIANT):
        numbers.append(MoveNumber.ATTACH_GAP)
    for number in numbers:
        for strand in strands:
            for kind in held:
                yield Move(number, (strand, kind))
    for on in range(1, tables.seats):
        rival = (seat + on) % tables.seats
        loose = [loose_kind(strand) for strand in position.strands(rival)]
        for strand in strands:
            for name in loose:
                if name is not None:
                    kind = tables.placed_kinds.index(name)
                    yield Move(MoveNumber.TAKE_LOOSE, (on, strand, kind))
    for first in strands:
        for later in range(first + 1, len(strands)):
            yield Move(MoveNumber.JOIN, (first, later))
    seen = {*position.open_targets, *position.secret_targets(seat)}
    for strand in strands:
        for place, target in enumerate(tables.targets):
            if target in seen:
                yield Move(MoveNumber.CLAIM, (strand, place))


def near_claims(game: Course, seat: int) -> list[dict[str, Any]]:
    """Give the claims that a seat's strands are a few cards away from, nearest first."""
    position, naming = game.position, game.naming
    seen = {*position.open_targets, *position.secret_targets(seat)}
    found = []
    for place, strand in enumerate(position.strands(seat)):
        for target in game.tables.targets:
            cards = cards_to_claim(position, seat, place, target) if target in seen else None
            if cards:
                text = naming.tell(
                    f"near.{'one' if cards == 1 else 'many'}",
                    strand=naming.table_strand(strand),
                    target=naming.target(target),
                    count=cards,
                )
                found.append({"strand": place, "target": target, "cards": cards, "text": text})
    return sorted(found, key=lambda near: near["cards"])
