"""What has happened, in sentences: one for all, one for the seat that saw more.

Comes in: a position before and after an entry. Goes out: events in their order. A card drawn
from the stock is named only to the seat that drew it.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field

from nervure.engine import Move, MoveNumber, Position, TableStrand
from nervure.game.tables import Rule
from nervure.table.naming import Naming
from nervure.table.state import drawn, holding, pending, stage

Who = Callable[[int], str]


@dataclass(frozen=True, slots=True)
class Event:
    """One thing that happened. ``own``: what one seat is told instead of ``text``.

    ``ids``: for a ruling, the ids that its sentence names, by role (`Explanation.ids`).
    """

    kind: str
    seat: int | None
    text: str
    own: Mapping[int, str] = field(default_factory=dict)
    ids: Mapping[str, tuple[str, ...]] = field(default_factory=dict)

    def told_to(self, seat: int | None) -> str:
        """Give the sentence for a seat, or for a spectator (None)."""
        return self.text if seat is None else self.own.get(seat, self.text)


@dataclass(frozen=True, slots=True)
class Claim:
    """A claim that was made: with which cards, for how many points."""

    seat: int
    turn: int
    target: str
    slots: tuple[str | None, ...]
    points: int
    full: bool
    bonus: str | None
    was_secret: bool


def move_sentence(
    naming: Naming, position: Position, seat: int, move: Move, who: Who, form: str = "event"
) -> str:
    """Give a move in one sentence as all may hear it.

    ``form``: "event" (it has been made), "attempt" (it was refused) or "move" (it can be made).
    """
    values = _values(naming, position, seat, move, who)
    name = MoveNumber(move.number).name.lower().replace("_", "-")
    if move.number == MoveNumber.SWAP and position.tables.rules[Rule.SWAP_UNDER]:
        name += "-under"
    return naming.tell(f"{form}.{name}", who=who(seat), **values)


def _values(
    naming: Naming, position: Position, seat: int, move: Move, who: Who
) -> dict[str, object]:
    tables = position.tables
    args = move.args
    strands = position.strands(seat)
    number = move.number
    if number in (MoveNumber.DRAW_DISPLAY, MoveNumber.SWAP):
        return {"card": naming.card(tables.hand_kinds[args[0]])}
    if number == MoveNumber.LAY:
        return {"card": naming.card(tables.placed_kinds[args[0]])}
    if number in (MoveNumber.ATTACH, MoveNumber.ATTACH_GAP):
        kind = tables.placed_kinds[args[1]]
        own = strands[args[0]]
        return {"card": naming.card(kind), "strand": naming.table_strand(own)}
    if number == MoveNumber.TAKE_LOOSE:
        kind = tables.placed_kinds[args[2]]
        return {
            "card": naming.card(kind),
            "rival": who((seat + args[0]) % tables.seats),
            "strand": naming.table_strand(strands[args[1]]),
        }
    if number == MoveNumber.LIFT:
        return {
            "card": naming.card(end_of(strands[args[0]], args[1])),
            "strand": naming.table_strand(strands[args[0]]),
        }
    if number == MoveNumber.JOIN:
        one, other = strands[args[0]], strands[args[1]]
        return {"one": naming.table_strand(one), "other": naming.table_strand(other)}
    if number == MoveNumber.CLAIM:
        return {
            "target": naming.target(tables.targets[args[1]]),
            "strand": naming.table_strand(strands[args[0]]),
        }
    if number == MoveNumber.USE:
        return {
            "bonus": naming.says(tables.bonus_ids[args[0]]),
            "how": _asked(naming, position, seat, move, who),
        }
    return {}


def end_of(strand: TableStrand, end: int) -> str:
    """Give the placed kind at the proximal (0) or distal (1) end of a strand."""
    cards = [slot for slot in strand.slots if slot is not None]
    return cards[-1] if end else cards[0]


ASKED: Mapping[str, int] = {"exchange-open": 1, "take-any-loose": 2, "move-end": 3}


def asked_parts(naming: Naming, position: Position, move: Move) -> list[tuple[str, Move]]:
    """Give the parts of a bonus that were asked for, with their arguments.

    An impossible part is dropped from the move; how many arguments are left tells which.
    """
    bonus = naming.game.bonus(position.tables.bonus_ids[move.args[0]])
    names = [effect.name for effect in bonus.effects if effect.name in ASKED]
    rest = list(move.args[1:])
    if len(names) == 2 and len(rest) < sum(ASKED[name] for name in names):
        names = [next((name for name in names if ASKED[name] == len(rest)), names[0])]
    parts = []
    for name in names:
        if len(rest) < ASKED[name]:
            break
        parts.append((name, Move(move.number, tuple(rest[: ASKED[name]]))))
        rest = rest[ASKED[name] :]
    return parts


def _asked(naming: Naming, position: Position, seat: int, move: Move, who: Who) -> str:
    tables, told = position.tables, []
    strands = list(position.strands(seat))
    for place, (name, part) in enumerate(asked_parts(naming, position, move)):
        args = part.args
        if name == "exchange-open":
            told.append(
                naming.tell("asked.exchange", target=naming.target(tables.targets[args[0]]))
            )
        elif name == "take-any-loose":
            card = naming.card(tables.placed_kinds[args[1]])
            rival = who((seat + args[0]) % tables.seats)
            told.append(naming.tell("asked.take", card=card, rival=rival))
        elif place == 0 and max(args[0], args[2]) < len(strands):
            card = naming.card(end_of(strands[args[0]], args[1]))
            goal = naming.table_strand(strands[args[2]])
            told.append(naming.tell("asked.move", card=card, strand=goal))
    return naming.listing(told) if told else ""


def happened(
    naming: Naming, before: Position, after: Position, seat: int, move: Move, who: Who
) -> tuple[list[Event], list[Claim]]:
    """Give what a legal move of a seat and all that followed by itself looked like."""
    acting = stage(before).seat
    drew = drawn_by_seat(before, after, acting, move)
    private = {}
    if move.number == MoveNumber.SWAP and before.tables.rules[Rule.SWAP_UNDER]:
        card = naming.card(before.tables.hand_kinds[move.args[0]])
        private[seat] = naming.tell("event.swap-under-own", who=who(seat), card=card)
    if move.number == MoveNumber.DRAW_STOCK and sum(drew.get(seat, {}).values()) == 1:
        card = naming.counted(drew.pop(seat))
        private[seat] = naming.tell("event.draw-stock-own", who=who(seat), card=card)
    name = MoveNumber(move.number).name.lower().replace("_", "-")
    events = [Event(name, seat, move_sentence(naming, before, seat, move, who), private)]
    robbed = stage(after).robbed
    taking = pending(after)
    if robbed is not None and taking is not None and stage(after).turn == before.turn:
        events.append(Event("reply", robbed, naming.tell("event.waits", who=who(robbed))))
        return events, []
    claims = []
    if move.number == MoveNumber.CLAIM:
        claims.append(_claim(before, after, seat, move, naming))
        events += _claim_events(naming, claims[0], who)
    events += [_drew(naming, seat, cards, who) for seat, cards in drew.items()]
    events += _display(naming, before, after, move)
    events += _turned_up(naming, before, after, who)
    if after.finished:
        ended = after.ended_by
        assert ended is not None, "the game is over"
        way = ended.name.lower().replace("_", "-")
        events.append(Event("over", None, naming.tell(f"ended.{way}")))
    elif after.turn != before.turn:
        now = after.seat_to_move
        text = naming.tell("event.turn", who=who(now), turn=after.turn, round=stage(after).round)
        events.append(Event("turn", now, text))
    return events, claims


def _claim(before: Position, after: Position, seat: int, move: Move, naming: Naming) -> Claim:
    strand = before.strands(seat)[move.args[0]]
    target = before.tables.targets[move.args[1]]
    full = holding(after, seat).full_claims > holding(before, seat).full_claims
    game = naming.game
    bonus = None
    if full and game.bonuses:
        printed_on = game.bonus_settings.printed_on
        if printed_on == "target":
            bonus = game.bonus_of.get(target)
        else:
            distal = strand.slots[strand.gap :]
            bonus = next((game.bonus_of[s] for s in distal if s and s in game.bonus_of), None)
    return Claim(
        seat=seat,
        turn=before.turn,
        target=target,
        slots=tuple(slot if t >= strand.gap else None for t, slot in enumerate(strand.slots)),
        points=after.points(seat) - before.points(seat),
        full=full,
        bonus=bonus,
        was_secret=target not in before.open_targets,
    )


def _claim_events(naming: Naming, claim: Claim, who: Who) -> list[Event]:
    form = "full" if claim.full else "plain"
    text = naming.tell(f"event.points-{form}", who=who(claim.seat), points=claim.points)
    events = [Event("points", claim.seat, text)]
    if claim.bonus is not None:
        told = naming.tell("event.earns", who=who(claim.seat), bonus=naming.says(claim.bonus))
        events.append(Event("bonus", claim.seat, told))
    return events


def drawn_by_seat(
    before: Position, after: Position, acting: int, move: Move
) -> dict[int, dict[str, int]]:
    """Give the cards that each seat drew from the stock: seat -> hand kind -> cards.

    Only the acting seat's hand gains cards in another way, so what the others gained was
    drawn, and the rest of what came to hands from stock and display is the acting seat's.
    """
    rest = {kind: count - drawn(before)[kind] for kind, count in drawn(after).items()}
    if move.number == MoveNumber.DRAW_DISPLAY:
        rest[after.tables.hand_kinds[move.args[0]]] -= 1
    found = {}
    for seat in range(after.tables.seats):
        if seat != acting:
            had, has = before.hand(seat), after.hand(seat)
            gained = {kind: has[kind] - had.get(kind, 0) for kind in has}
            found[seat] = {kind: count for kind, count in gained.items() if count > 0}
            for kind, count in found[seat].items():
                rest[kind] -= count
    found[acting] = {kind: count for kind, count in rest.items() if count > 0}
    return {seat: found[seat] for seat in sorted(found) if found[seat]}


def _drew(naming: Naming, seat: int, cards: Mapping[str, int], who: Who) -> Event:
    count = sum(cards.values())
    text = naming.tell(f"event.drew-{'one' if count == 1 else 'many'}", who=who(seat), count=count)
    own = naming.tell("event.drew-own", who=who(seat), cards=naming.counted(cards))
    return Event("drew", seat, text, {seat: own})


def _display(naming: Naming, before: Position, after: Position, move: Move) -> list[Event]:
    lay = before.display
    if move.number == MoveNumber.DRAW_DISPLAY:
        lay[before.tables.hand_kinds[move.args[0]]] -= 1
    new = {kind: count - lay.get(kind, 0) for kind, count in after.display.items()}
    shown = {kind: count for kind, count in new.items() if count > 0}
    if not shown:
        return []
    text = naming.tell("event.display", cards=naming.counted(shown))
    return [Event("display", None, text)]


def _turned_up(naming: Naming, before: Position, after: Position, who: Who) -> list[Event]:
    events = []
    for old, new in zip(before.open_targets, after.open_targets, strict=True):
        if new is not None and new != old:
            text = naming.tell("event.turned-up", target=naming.target(new))
            events.append(Event("target", None, text))
    for seat in range(after.tables.seats):
        had, has = before.secret_targets(seat), after.secret_targets(seat)
        taken = [target for target in has if has.count(target) > had.count(target)]
        if taken:
            own = naming.tell(
                "event.secret-own",
                who=who(seat),
                target=naming.listing(map(naming.target, dict.fromkeys(taken))),
            )
            text = naming.tell("event.secret", who=who(seat))
            events.append(Event("secret", seat, text, {seat: own}))
    return events
