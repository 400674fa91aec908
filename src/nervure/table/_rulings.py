"""What anyone can see that speaks against a move, in the order of docs/rules.md; then the map.

Comes in: a position, a seat, a well-formed move. Goes out: the `Reason` why it holds or the
map refuses it; what is refused by how the table lies raises `Refused`. That this agrees with
the engine's list of legal moves, move for move, is tested.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from functools import cached_property

from nervure.engine import Move, MoveNumber, Position, TableStrand
from nervure.game.deck import VARIANT
from nervure.game.tables import Draw, MayPass, Rule
from nervure.table.junctions import Ids, Junctions, Reason
from nervure.table.state import (
    Stage,
    hand_kind_of,
    holding,
    loose_count,
    loose_kind,
    stage,
    stock_sizes,
    tier_of,
)

DRAWS: Mapping[int, Draw] = {
    MoveNumber.DRAW_STOCK: Draw.STOCK,
    MoveNumber.DRAW_DISPLAY: Draw.DISPLAY,
    MoveNumber.SWAP: Draw.SWAP,
    MoveNumber.TAKE_LOOSE: Draw.TAKE_LOOSE,
    MoveNumber.LIFT: Draw.LIFT,
}
PLAYS = (MoveNumber.LAY, MoveNumber.ATTACH, MoveNumber.ATTACH_GAP)
ANSWERS = (MoveNumber.LET, MoveNumber.CANCEL)


class Refused(Exception):
    """The first thing on the table that speaks against a move."""

    def __init__(self, code: str, numbers: Mapping[str, int] | None = None, **ids: Ids) -> None:
        self.reason = Reason(code, False, ids, numbers or {})
        super().__init__(code)


class Ruling:
    """A seat's moves at one position. What can be seen on the table raises `Refused`."""

    def __init__(self, junctions: Junctions, position: Position, seat: int) -> None:
        self.junctions, self.position, self.seat = junctions, position, seat
        self.game = junctions.game
        self.tables = position.tables
        self.rules = position.tables.rules
        self.stage: Stage = stage(position)

    @cached_property
    def legal(self) -> frozenset[Move]:
        """The moves that the engine allows."""
        return frozenset(self.position.legal_moves())

    def reason(self, move: Move) -> Reason:
        number = MoveNumber(move.number)
        self.check_turn(number)
        if number in DRAWS:
            self.check_draw(number)
        elif number in PLAYS:
            self.check_play()
        elif number == MoveNumber.JOIN and self.rules[Rule.JOIN_IS_PLAY]:
            self.check_play()
        elif number == MoveNumber.CLAIM and self.rules[Rule.CLAIM_IS_PLAY]:
            self.check_play()
        checks: Mapping[MoveNumber, Callable[..., Reason]] = {
            MoveNumber.END: self.end,
            MoveNumber.PASS: self.pass_,
            MoveNumber.DRAW_STOCK: self.draw_stock,
            MoveNumber.DRAW_DISPLAY: self.draw_display,
            MoveNumber.SWAP: self.swap,
            MoveNumber.TAKE_LOOSE: self.take_loose,
            MoveNumber.LIFT: self.lift,
            MoveNumber.LAY: self.lay,
            MoveNumber.ATTACH: self.attach,
            MoveNumber.ATTACH_GAP: self.attach_gap,
            MoveNumber.JOIN: self.join,
            MoveNumber.CLAIM: self.claim,
            MoveNumber.LET: self.answer,
            MoveNumber.CANCEL: self.answer,
        }
        if number == MoveNumber.USE:
            return self.use(move)
        return checks[number](*move.args)

    # Whose turn, which stage

    def check_turn(self, number: MoveNumber) -> None:
        if self.position.finished:
            raise Refused("over")
        if self.position.seat_to_move != self.seat:
            raise Refused("wrong-turn", {"seat": self.position.seat_to_move + 1})
        if self.stage.robbed is not None and number not in ANSWERS:
            raise Refused("reply-first")
        if self.stage.robbed is None and number in ANSWERS:
            raise Refused("nothing-to-answer")

    def draw_is_possible(self) -> bool:
        return any(move.number in DRAWS for move in self.legal)

    def check_draw(self, number: MoveNumber) -> None:
        if not self.rules[Rule.DRAWS] & DRAWS[number]:
            raise Refused("draw-not-in-game")
        if self.stage.began:
            raise Refused("draw-after-play")
        if self.stage.draws <= 0:
            raise Refused("no-draws-left")

    def check_play(self) -> None:
        if self.draw_is_possible():
            raise Refused("draw-first", {"count": self.stage.draws})
        if self.stage.plays <= 0:
            raise Refused("no-plays-left")

    def end(self) -> Reason:
        if self.draw_is_possible():
            raise Refused("draw-first", {"count": self.stage.draws})
        plays = [*PLAYS]
        if self.rules[Rule.JOIN_IS_PLAY]:
            plays.append(MoveNumber.JOIN)
        if self.rules[Rule.CLAIM_IS_PLAY]:
            plays.append(MoveNumber.CLAIM)
        if self.rules[Rule.MUST_PLAY] and any(move.number in plays for move in self.legal):
            raise Refused("must-play", {"count": self.stage.plays})
        return Reason("may-end", True)

    def pass_(self) -> Reason:
        may = self.rules[Rule.MAY_PASS]
        if may == MayPass.NEVER:
            raise Refused("pass-never")
        if not self.stage.fresh:
            raise Refused("pass-too-late")
        if may == MayPass.STOCK_EMPTY and stock_sizes(self.position)[0]:
            raise Refused("pass-with-stock", {"count": stock_sizes(self.position)[0]})
        return Reason("may-pass", True)

    # Draws

    def need_stock(self) -> None:
        if not stock_sizes(self.position)[0]:
            raise Refused("stock-empty")

    def need_in_hand(self, kind: str) -> None:
        if not self.position.hand(self.seat).get(kind):
            raise Refused("not-in-hand", card=(kind,))

    def draw_stock(self) -> Reason:
        self.need_stock()
        return Reason("may-draw", True)

    def draw_display(self, kind: int) -> Reason:
        name = self.tables.hand_kinds[kind]
        if not self.position.display.get(name):
            raise Refused("not-in-display", card=(name,))
        return Reason("may-draw", True)

    def swap(self, kind: int) -> Reason:
        self.need_stock()
        self.need_in_hand(self.tables.hand_kinds[kind])
        return Reason("may-draw", True)

    def lift(self, strand: int, end: int) -> Reason:
        own = self.own(strand)
        if loose_kind(own) is not None and end != 0:
            raise Refused("no-such-strand", {"strand": strand + 1})
        if not stock_sizes(self.position)[0] and not holding(self.position, self.seat).late_lifts:
            raise Refused("no-late-lifts")
        return Reason("may-lift", True)

    def take_loose(self, on: int, strand: int, kind: int) -> Reason:
        if self.stage.plays <= 0:
            raise Refused("no-plays-left")
        name = self.tables.placed_kinds[kind]
        if not 1 <= on < self.tables.seats:
            raise Refused("not-loose-there", card=(name,))
        owner = (self.seat + on) % self.tables.seats
        if not loose_count(self.position, owner, name):
            raise Refused("not-loose-there", card=(name,))
        if holding(self.position, owner).guarded:
            raise Refused("guarded", {"seat": owner + 1}, card=(name,))
        return self.attached(self.own(strand), name)

    # Plays and free actions

    def own(self, strand: int) -> TableStrand:
        strands = self.position.strands(self.seat)
        if not 0 <= strand < len(strands):
            raise Refused("no-such-strand", {"strand": strand + 1})
        return strands[strand]

    def lay(self, kind: int) -> Reason:
        self.need_in_hand(hand_kind_of(self.tables, self.tables.placed_kinds[kind]))
        return Reason("may-lay", True)

    def attach(self, strand: int, kind: int) -> Reason:
        name = self.tables.placed_kinds[kind]
        self.need_in_hand(hand_kind_of(self.tables, name))
        return self.attached(self.own(strand), name)

    def attached(self, strand: TableStrand, name: str) -> Reason:
        """Look at a card beside a strand; the side that it would change has to be joined."""
        tier = tier_of(self.tables, name)
        held = [place for place, slot in enumerate(strand.slots) if slot is not None]
        cards = tuple(slot for slot in strand.slots if slot is not None)
        if tier in held:
            there = strand.slots[tier]
            assert there is not None, "the tier is taken"
            raise Refused("tier-taken", card=(name,), there=(there,))
        slots: list[str | None] = list(strand.slots)
        if strand.gap:
            last = max(place for place in held if place < strand.gap)
            first = min(place for place in held if place >= strand.gap)
            if last < tier < first:
                raise Refused("at-the-gap", card=(name,), cards=cards)
            for place in held:
                if (place < strand.gap) != (tier < last):
                    slots[place] = None
        if not self.rules[Rule.INSERT] and held[0] < tier < held[-1]:
            raise Refused("not-at-end", card=(name,), cards=cards)
        slots[tier] = name
        return self.junctions.joined(slots)

    def attach_gap(self, strand: int, kind: int) -> Reason:
        name = self.tables.placed_kinds[kind]
        if VARIANT not in self.tables.hand_kinds:
            raise Refused("no-variant-cards")
        self.need_in_hand(VARIANT)
        self.need_in_hand(hand_kind_of(self.tables, name))
        own = self.own(strand)
        if own.gap:
            raise Refused("gap-already", cards=tuple(s for s in own.slots if s is not None))
        tier = tier_of(self.tables, name)
        held = [place for place, slot in enumerate(own.slots) if slot is not None]
        if held[0] <= tier <= held[-1]:
            cards = tuple(slot for slot in own.slots if slot is not None)
            raise Refused("not-at-end", card=(name,), cards=cards)
        slots: list[str | None] = list(own.slots)
        slots[tier] = name
        without = self.junctions.joined(slots)
        if without.holds:
            raise Refused("fits-without-gap", card=(name,))
        return Reason("over-a-gap", True, {"card": (name,)})

    def join(self, first: int, second: int) -> Reason:
        one, other = self.own(first), self.own(second)
        if first == second:
            raise Refused("no-such-strand", {"strand": second + 1})
        if one.gap or other.gap:
            raise Refused("gap-is-not-joined")
        slots: list[str | None] = list(one.slots)
        for tier, slot in enumerate(other.slots):
            if slot is not None:
                there = one.slots[tier]
                if there is not None:
                    raise Refused("tier-twice", one=(there,), other=(slot,))
                slots[tier] = slot
        if not self.rules[Rule.INSERT] and not _is_beyond(one, other):
            raise Refused("not-beyond")
        return self.junctions.joined(slots)

    def claim(self, strand: int, target: int) -> Reason:
        own = self.own(strand)
        name = self.tables.targets[target]
        position, seat = self.position, self.seat
        if name not in position.open_targets and name not in position.secret_targets(seat):
            raise Refused("target-not-open", target=(name,))
        slots = tuple(slot if tier >= own.gap else None for tier, slot in enumerate(own.slots))
        cards = tuple(slot for slot in slots if slot is not None)
        held = holding(position, seat)
        least = max(1, int(self.rules[Rule.CLAIM_MINIMUM]) - held.short_claim)
        if len(cards) < least:
            numbers = {"count": len(cards), "least": least}
            raise Refused("too-few-cards", numbers, cards=cards)
        real = sum(not card.startswith("wild:") for card in cards)
        needed = self.game.rules.claim_real
        if real < needed:
            raise Refused("too-few-real", {"real": real, "least": needed}, cards=cards)
        game = self.game
        first = cards[0]
        if "origin" in game.rules.claim_needs and first not in game.strands.origins:
            if not first.startswith("wild:") or slots[0] is None:
                raise Refused("not-from-origin", card=(first,))
        reason = self.junctions.claims(slots, name)
        points = {"points": game.points_for(name, len(cards)), "count": len(cards)}
        return Reason(reason.code, reason.holds, reason.ids, points)

    def use(self, move: Move) -> Reason:
        bonus = self.tables.bonus_ids[move.args[0]]
        if not holding(self.position, self.seat).bonuses.get(bonus):
            raise Refused("bonus-not-held", bonus=(bonus,))
        if move not in self.legal:
            raise Refused("bonus-idle", bonus=(bonus,))
        return Reason("may-use", True, {"bonus": (bonus,)})

    def answer(self) -> Reason:
        return Reason("may-answer", True)


def _is_beyond(one: TableStrand, other: TableStrand) -> bool:
    """Tell whether one of two strands is wholly proximal to the other."""
    first = [tier for tier, slot in enumerate(one.slots) if slot is not None]
    second = [tier for tier, slot in enumerate(other.slots) if slot is not None]
    return first[-1] < second[0] or second[-1] < first[0]
