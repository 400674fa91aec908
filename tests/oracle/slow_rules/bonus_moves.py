"""Bonuses in play: what using one asks for, and what each of its parts does.

The arguments of a use are those of its parts in order. A part is looked at as the table
would lie after the parts before it; what only chance could show (a new open target) is not
offered. A part that is impossible then is dropped and has no arguments; a bonus of which
every part is impossible cannot be used.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from nervure.game.bonuses import Effect
from slow_rules import moves
from slow_rules.cards import Card, Seat, Strand

if TYPE_CHECKING:
    from slow_rules.table import Table

Arguments = tuple[int, ...]
ARITY = {"exchange-open": 1, "take-any-loose": 2, "move-end": 3}


def uses(table: Table) -> list[Arguments]:
    """Give every use of a one-time bonus that is legal: bonus, then its arguments."""
    held = table.seats[table.seat].bonuses
    found: list[Arguments] = []
    for number, bonus in enumerate(table.game.bonuses):
        if bonus.when == "one-time" and bonus.id in held:
            found += [
                (number, *arguments)
                for arguments, does_something in _arguments(table, list(bonus.effects))
                if does_something
            ]
    return found


def _arguments(table: Table, effects: list[Effect]) -> list[tuple[Arguments, bool]]:
    if not effects:
        return [((), False)]
    options = part_options(table, effects[0])
    if not options:
        return _arguments(table, effects[1:])
    found = []
    for option in options:
        after = table.copy()
        do_part(after, effects[0], option, hides_chance=True)
        found += [((*option, *more), True) for more, _ in _arguments(after, effects[1:])]
    return found


def parts_of_use(table: Table, move: tuple[int, ...]) -> list[tuple[Effect, Arguments]]:
    """Give the possible parts of a use, each with its own arguments."""
    _, number, *arguments = move
    imagined = table.copy()
    parts = []
    for effect in table.game.bonuses[number].effects:
        if part_options(imagined, effect):
            arity = ARITY.get(effect.name, 0)
            option = tuple(arguments[:arity])
            del arguments[:arity]
            do_part(imagined, effect, option, hides_chance=True)
            parts.append((effect, option))
    return parts


def part_options(table: Table, effect: Effect) -> list[Arguments]:
    """Give the arguments that a part can have now; () where it asks for none."""
    seat = table.seats[table.seat]
    if effect.name == "draw":
        return [()] if table.stock else []
    if effect.name == "exchange-open":
        shown = {table.game.targets.index(card.kind) for card in table.open_targets if card}
        return [(target,) for target in sorted(shown)] if table.target_stock else []
    if effect.name == "take-any-loose":
        return _loose_of_rivals(table)
    if effect.name == "move-end":
        return _ends_to_move(table, seat)
    return [()]


def _loose_of_rivals(table: Table) -> list[Arguments]:
    found: list[Arguments] = []
    for on in range(1, len(table.seats)):
        rival = table.seats[(table.seat + on) % len(table.seats)]
        if not table.is_guarded(rival):
            found += [
                (on, moves.placed_kind(table, *next(iter(strand.cards.items()))))
                for strand in moves.strands_in_order(table, rival)
                if strand.is_loose
            ]
    return found


def _ends_to_move(table: Table, seat: Seat) -> list[Arguments]:
    found: list[Arguments] = []
    strands = moves.strands_in_order(table, seat)
    for place, strand in enumerate(strands):
        for end in (0,) if strand.is_loose else (0, 1):
            tier = strand.tiers[-end]
            found += [
                (place, end, to)
                for to, other in enumerate(strands)
                if to != place and moves.attaches(table, other, tier, strand.cards[tier])
            ]
    return found


def do_part(
    table: Table, effect: Effect, option: Arguments, *, hides_chance: bool = False
) -> None:
    """Do one part of a use; with ``hides_chance`` what chance would show stays away."""
    seat = table.seats[table.seat]
    if effect.name == "draw":
        for _ in range(0 if hides_chance else effect.amount):
            table.draw_to_hand(seat)
    elif effect.name == "play":
        table.plays += effect.amount
    elif effect.name == "points":
        seat.points += effect.amount
        seat.bonus_points += effect.amount
    elif effect.name == "exchange-open":
        _exchange(table, table.game.targets[option[0]], hides_chance)
    elif effect.name == "take-any-loose":
        rival = table.seats[(table.seat + option[0]) % len(table.seats)]
        _, card = table.lift_loose(rival, option[1])
        seat.hand.append(card)
        table.note("take")
    elif effect.name == "move-end":
        _move_end(table, seat, option)


def _exchange(table: Table, target: str, hides_chance: bool) -> None:
    place = next(p for p, card in enumerate(table.open_targets) if card and card.kind == target)
    old: Card | None = table.open_targets[place]
    assert old is not None
    new = table.target_stock.pop(0)
    table.target_stock.append(old)
    table.open_targets[place] = new
    if hides_chance:
        table.open_targets[place] = None
    else:
        table.note("open", target=new)


def _move_end(table: Table, seat: Seat, option: Arguments) -> None:
    strands: list[Strand] = moves.strands_in_order(table, seat)
    place, end, to = option
    source, goal = strands[place], strands[to]
    tier = source.tiers[-end]
    goal.cards[tier] = source.cards[tier]
    table.take_away(seat, source, tier)
    table.note("lengthened")
