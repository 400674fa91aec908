"""`seat_view`: the one function that makes what may be sent to a seat, or to a spectator.

Plain data, ready for JSON. A seat is sent its own hand and secret targets and what lies face
up; of the rest only how much there is. No seed, no token, no order of a stock. `deck_view`
gives what the cards of the game print, which is no secret and never changes.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Any

from nervure.engine import TableStrand
from nervure.table.choices import REASONS, choices, near_claims
from nervure.table.events import Claim
from nervure.table.outcome import result_view
from nervure.table.replayed import Replayed
from nervure.table.state import Stage, hand_size, holding, stage, stock_sizes
from nervure.table.table_game import TableGame

EVENTS_SHOWN = 40
Viewed = TableGame | Replayed
"""What can be shown: a table, or one that is over as it once stood."""


def seat_view(game: Viewed, seat: int | None) -> dict[str, Any]:
    """Give everything that may be sent to a seat (from 0), or to a spectator (None).

    The shape is described in docs/table.md. It is made once for each line of the log.
    """
    with game.lock:
        if seat not in game.views:
            game.views[seat] = _view(game, seat)
        return game.views[seat]


def _view(game: Viewed, seat: int | None) -> dict[str, Any]:
    position = game.position
    now = stage(position)
    parts, targets = stock_sizes(position)
    decides = (
        seat is not None
        and seat == position.seat_to_move
        and game.over_by is None
        and not game.waits_for
    )
    return {
        "table": game.id,
        "title": game.game.title,
        "code": game.code,
        "position": game.number,
        "version": game.version,
        "you": seat,
        "help": game.help_level,
        "waits_for": list(game.waits_for),
        "turn": _turn(game, now),
        "bell": None if game.bell_round is None else {"round": game.bell_round},
        "stock": {"parts": parts, "targets": targets},
        "display": _cards(game, position.display),
        "pile": _cards(game, position.pile),
        "open_targets": [
            None if target is None else _target(game, target) for target in position.open_targets
        ],
        "seats": [_seat(game, other, seat) for other in range(game.tables.seats)],
        "hand": [] if seat is None else _cards(game, position.hand(seat)),
        "secret_targets": []
        if seat is None
        else [_target(game, target) for target in position.secret_targets(seat)],
        "moves": choices(game, seat) if decides and seat is not None else [],
        "near": near_claims(game, seat)
        if decides and seat is not None and game.help_level >= REASONS
        else [],
        "may_undo": seat is not None and game.may_undo(seat),
        "events": _events(game, seat),
        "result": result_view(game),
    }


def _turn(game: Viewed, now: Stage) -> dict[str, Any]:
    deciding = game.position.seat_to_move
    if game.over_by is not None:
        name = "over"
    elif game.waits_for:
        name = "waiting"
    elif now.robbed is not None:
        name = "reply"
    elif (
        now.draws > 0
        and not now.began
        and game.referee.look(game.position, deciding).draw_is_possible()
    ):
        name = "draw"
    else:
        name = "play"
    return {
        "number": now.turn,
        "round": now.round,
        "seat": deciding,
        "name": game.who(deciding),
        "kind": game.seats[deciding].kind,
        "stage": name,
        "draws": now.draws,
        "plays": now.plays,
        "sentence": game.naming.tell(
            f"stage.{name}", who=game.who(deciding), draws=now.draws, plays=now.plays
        ),
        "began": _turn_began(game),
        "seconds_per_turn": game.seconds_per_turn,
    }


def _turn_began(game: Viewed) -> str:
    """Give the time of the entry that opened the turn; before any, when the table was laid."""
    turn = game.position.turn
    began = game.made
    for entry in reversed(game.entries):
        if entry.kind in ("move", "attempt") and entry.turn < turn:
            return entry.made
        if entry.kind in ("seat", "move", "attempt") and entry.turn == turn:
            began = entry.made
    return began


def _seat(game: Viewed, seat: int, viewer: int | None) -> dict[str, Any]:
    position = game.position
    held, sits = holding(position, seat), game.seats[seat]
    return {
        "seat": seat,
        "name": game.who(seat),
        "kind": sits.kind,
        "style": sits.style,
        "is_you": seat == viewer,
        "is_free": sits.is_free,
        "hand_size": hand_size(position, seat),
        "secret_size": len(position.secret_targets(seat)),
        "points": position.points(seat),
        "strands": [
            _strand(game, place, strand) for place, strand in enumerate(position.strands(seat))
        ],
        "claims": [_claim(game, claim) for claim in game.claims if claim.seat == seat],
        "full_claims": held.full_claims,
        "bonuses": [
            {"id": bonus, "text": game.naming.says(bonus), "count": count}
            for bonus, count in held.bonuses.items()
        ],
        "cancels": held.cancels,
        "guarded": held.guarded,
        "extra_hand": held.extra_hand,
        "short_claim": held.short_claim,
        "points_kind": held.points_kind,
        "late_lifts": held.late_lifts if "lift" in game.game.rules.draws else None,
        "has_passed": held.has_passed,
    }


def _cards(game: Viewed, counts: Mapping[str, int]) -> list[dict[str, Any]]:
    return [{**_card(game, kind), "count": count} for kind, count in counts.items()]


def _card(game: Viewed, kind: str) -> dict[str, Any]:
    return {"kind": kind, "name": game.naming.card(kind), "short": game.naming.short(kind)}


def _target(game: Viewed, target: str) -> dict[str, Any]:
    rules = game.game.rules
    first = max(1, rules.claim_minimum)
    bonus = game.game.bonus_of.get(target)
    row = game.game.anatomy.target(target)
    return {
        "id": target,
        "name": row.name,
        "short": row.short or row.name,
        "kind": row.kind,
        "points": [
            {"cards": cards, "points": points}
            for cards, points in enumerate(game.game.points_of[target], start=first)
        ],
        "bonus": None if bonus is None else game.naming.says(bonus),
    }


def _strand(game: Viewed, place: int, strand: TableStrand) -> dict[str, Any]:
    sides = [strand.slots]
    if strand.gap:
        empty = (None,) * len(strand.slots)
        sides = [
            strand.slots[: strand.gap] + empty[strand.gap :],
            empty[: strand.gap] + strand.slots[strand.gap :],
        ]
    shown = game.help_level >= REASONS
    return {
        "strand": place,
        "cards": [
            None if slot is None else {**_card(game, slot), "tier": game.tables.tiers[tier]}
            for tier, slot in enumerate(strand.slots)
        ],
        "gap": strand.gap or None,
        "copies": strand.copies,
        "text": game.naming.table_strand(strand),
        "why": [game.referee.strand(side).sentence for side in sides] if shown else [],
    }


def _claim(game: Viewed, claim: Claim) -> dict[str, Any]:
    return {
        "turn": claim.turn,
        "target": claim.target,
        "name": game.naming.target(claim.target),
        "cards": [_card(game, slot) for slot in claim.slots if slot is not None],
        "points": claim.points,
        "full": claim.full,
        "bonus": None if claim.bonus is None else game.naming.says(claim.bonus),
    }


def _events(game: Viewed, seat: int | None) -> list[dict[str, Any]]:
    shown: list[dict[str, Any]] = []
    for entry in reversed(game.entries):
        told = [
            {
                "entry": entry.index,
                "kind": event.kind,
                "seat": event.seat,
                "text": event.told_to(seat),
                "at": entry.made,
            }
            for event in entry.events
        ]
        shown[:0] = told
        if len(shown) >= EVENTS_SHOWN:
            break
    return shown[-EVENTS_SHOWN:]


def deck_view(game: Viewed) -> dict[str, Any]:
    """Give the cards of the game with what they print: the same for everyone, all the time."""
    design, naming = game.game, game.naming
    prints = design.prints

    def named(structures: Iterable[str]) -> list[str]:
        return [naming.short(name) for name in structures]

    tiers = [{"id": tier, "name": naming.tier(tier)} for tier in design.tiers]
    return {
        "table": game.id,
        "title": design.title,
        "language": naming.language,
        "tiers": tiers,
        "cards": {
            kind: {
                **_card(game, kind),
                "copies": design.copies[kind],
                "tier": design.anatomy.tier_of(kind) if kind in design.structures else None,
                "lists": named(prints.part_lists(kind)) if kind in design.structures else [],
                "leads_to": [naming.target(name) for name in prints.part_lists_targets(kind)]
                if kind in design.structures
                else [],
                "bonus": naming.says(design.bonus_of[kind]) if kind in design.bonus_of else None,
            }
            for kind in design.hand_kinds
        },
        "targets": {
            target: {
                **_target(game, target),
                "copies": design.target_copies[target],
                "origins": named(prints.target_marks(target) or ()),
                "way": named(prints.target_way(target) or ()),
                "lit": named(prints.target_lights(target) or ()),
            }
            for target in design.targets
        },
        "seconds_per_turn": game.seconds_per_turn,
    }
