"""The slow table: setting up, turns, moves done, closing of turns, the result.

It is one state machine, to be read beside one page, so it stays in one file.

A `Table` always stands at a decision or at the end of its game: turns that close by
themselves have been closed. ``events`` tells what happened, for the counters.
"""

from __future__ import annotations

import copy
from collections.abc import Callable, Sequence
from itertools import pairwise
from typing import Any

from nervure.game import Game
from slow_rules import bonus_moves, moves, offers
from slow_rules.beliefs import Beliefs, Pair
from slow_rules.cards import (
    VARIANT,
    WILD_ANY,
    Card,
    Claim,
    Seat,
    Strand,
    part_stock,
    slots_of,
    target_stock,
)
from slow_rules.conservation import Cards
from slow_rules.lists import legal_moves
from slow_rules.moves import Move
from slow_rules.strand_book import StrandBook

SECONDS_A_MINUTE = 60


class Table:
    """One game in play by the rules of docs/rules.md."""

    def __init__(
        self,
        game: Game,
        seats: int,
        seed: int,
        deal: int,
        book: StrandBook | None = None,
        beliefs: Sequence[Beliefs | None] = (),
    ) -> None:
        self.game = game
        self.book = book or StrandBook(game)
        self.beliefs = list(beliefs) or [None] * seats
        self.tiers = len(game.tiers)
        self.events: list[dict[str, Any]] = []
        self.enacted: list[set[Pair]] = [set() for _ in range(seats)]
        self.turn, self.round, self.seat, self.still = 0, 1, 0, 0
        self.draws, self.plays, self.began, self.fresh = 0, 0, False, True
        self.last_round = False
        self.ended_by: str | None = None
        self.take_in_question: Move | None = None
        self.answers: list[bool] = []
        self.robbed: int | None = None
        self._set_up(seats, seed, deal)
        self._cards = Cards(self)
        self.openings = [[card.kind for card in seat.hand] for seat in self.seats]
        self._begin_turn()
        self._to_next_decision()

    # Setting up.

    def _set_up(self, seats: int, seed: int, deal: int) -> None:
        rules = self.game.rules
        self.stock = part_stock(self.game, seed, deal)
        self.target_stock = target_stock(self.game, seed, deal)
        self.pile: list[Card] = []
        self.seats = [Seat(rules.late_lifts) for _ in range(seats)]
        for _ in range(rules.hand.at(seats)):
            for seat in self.seats:
                self.draw_to_hand(seat)
        for seat, extra in zip(self.seats, rules.seat_cards, strict=False):
            for _ in range(extra):
                self.draw_to_hand(seat)
        shown = rules.display.at(seats)
        self.display = [self.stock.pop(0) for _ in range(shown)]
        self.open_targets: list[Card | None] = []
        for _ in range(rules.open_targets.at(seats)):
            self.open_targets.append(self.target_stock.pop(0))
            self.note("open", target=self.open_targets[-1])
        for _ in range(rules.secret_targets):
            for seat in self.seats:
                seat.secrets.append(self.target_stock.pop(0))
                self.note("secret", target=seat.secrets[-1])

    # What the moves ask of the table.

    @property
    def finished(self) -> bool:
        """Tell whether the game is over."""
        return self.ended_by is not None

    @property
    def decider(self) -> int:
        """The seat that decides next: the robbed one while a take is in question."""
        return self.seat if self.robbed is None else self.robbed

    def tier_of(self, card: Card) -> int:
        """Give the deck tier of a part card that has only one."""
        name = card.kind
        tier = name.removeprefix("wild:") if card.is_wild else self.game.anatomy.tier_of(name)
        return self.game.tiers.index(tier)

    def lasting(self, seat: Seat, effect: str, kind: str = "") -> int:
        """Give how much of a lasting effect a seat has; one without a number counts 1."""
        return sum(
            part.amount or 1
            for id in seat.bonuses
            if self.game.bonus(id).when == "lasting"
            for part in self.game.bonus(id).effects
            if (part.name, part.kind) == (effect, kind)
        )

    def is_guarded(self, seat: Seat) -> bool:
        """Tell whether the loose cards of a seat cannot be taken."""
        return self.lasting(seat, "guard-loose") > 0

    def claim_minimum_of(self, seat: Seat) -> int:
        """Give the fewest cards of a claim of this seat."""
        minimum = self.game.rules.claim_minimum
        shorter = self.lasting(seat, "short-claim")
        return max(1, minimum - shorter) if shorter else minimum

    def hand_limit_of(self, seat: Seat) -> int:
        """Give the hand to which a seat draws up."""
        return self.game.rules.hand.at(len(self.seats)) + self.lasting(seat, "hand")

    def points_for(self, target: str, cards: int) -> int:
        """Give the points of a claim by target and number of cards."""
        ladder = self.game.points_of[target]
        rung = max(0, cards - self.game.rules.claim_minimum)
        return ladder[min(rung, len(ladder) - 1)]

    def note(self, what: str, **details: Any) -> None:
        """Write down what happened in this turn."""
        self.events.append({"what": what, "turn": self.turn, "seat": self.seat, **details})

    def copy(self) -> Table:
        """Give a table that can be played on without touching this one."""
        shared = {id(one): one for one in (self.game, self.book, *filter(None, self.beliefs))}
        return copy.deepcopy(self, shared)

    # Small movements of cards.

    def draw_to_hand(self, seat: Seat) -> None:
        """Move the top card of the stock to a hand, if there is one."""
        if self.stock:
            seat.hand.append(self.stock.pop(0))
            self.note("drawn", kind=seat.hand[-1].kind)

    def from_hand(self, seat: Seat, kind: str) -> Card:
        """Take one card of a hand kind out of a hand."""
        card = next(card for card in seat.hand if card.kind == kind)
        seat.hand.remove(card)
        return card

    def lift_loose(self, seat: Seat, placed_kind: int) -> tuple[int, Card]:
        """Take a loose card of a placed kind off the table; give its tier too."""
        strand = next(
            strand
            for strand in seat.strands
            if strand.is_loose
            and moves.placed_kind(self, *next(iter(strand.cards.items()))) == placed_kind
        )
        seat.strands = [other for other in seat.strands if other is not strand]
        return next(iter(strand.cards.items()))

    def take_away(self, seat: Seat, strand: Strand, tier: int) -> None:
        """Take the card of a tier out of a strand; close an empty gap, drop an empty strand."""
        del strand.cards[tier]
        if not strand.cards:
            seat.strands = [other for other in seat.strands if other is not strand]
        variant = strand.close_empty_gap()
        if variant is not None:
            seat.hand.append(variant)

    def _own_strand(self, place: int) -> Strand:
        return moves.strands_in_order(self, self.seats[self.seat])[place]

    # Doing a move.

    def apply(self, move: Move) -> None:
        """Do one of the legal moves and go on to the next decision, or to the end."""
        assert move in self.legal, f"{move} is not among {self.legal}"
        self.note("decision", choices=len(self.legal))
        if self.take_in_question is not None:
            self._answer(move)
        elif move[0] in (moves.END, moves.PASS):
            self._end_or_pass(move)
        else:
            self._choose(move)
        self._cards.check(self)
        self._to_next_decision()

    def _end_or_pass(self, move: Move) -> None:
        self.note("move", number=move[0])
        if move[0] == moves.PASS and self._is_all_passed_game():
            self.seats[self.seat].passed = True
        self._close_turn()

    def _choose(self, move: Move) -> None:
        self.fresh = False
        self.note("move", number=move[0])
        legal, tried = offers.tried_by(self, move)
        if not legal:
            self._refuse(move, tried)
            return
        self.take_in_question = move
        self.answers = []
        self._ask_or_do()

    def _refuse(self, move: Move, tried: list[Pair]) -> None:
        beliefs = self.beliefs[self.seat]
        assert beliefs is not None, f"{move} is not legal"
        self.note("refused", false=beliefs.give_up(tried))
        self._pay(move)

    def _pay(self, move: Move) -> None:
        if moves.DRAW_STOCK <= move[0] <= moves.LIFT:
            self.draws -= 1
        if (
            move[0] in (moves.LAY, moves.ATTACH, moves.ATTACH_OVER_GAP, moves.TAKE_LOOSE)
            or (move[0] == moves.JOIN and self.game.rules.join == "instead-of-play")
            or (move[0] == moves.CLAIM and self.game.rules.claim == "instead-of-play")
        ):
            self.plays -= 1
            self.began = True

    def _answer(self, move: Move) -> None:
        assert self.robbed is not None
        self.answers.append(move == moves.CANCEL)
        if move == moves.CANCEL:
            robbed = self.seats[self.robbed]
            robbed.bonuses.remove(self._replies_of(robbed)[0])
        self._ask_or_do()

    def _ask_or_do(self) -> None:
        """Ask the next robbed seat that holds a reply; when all have spoken, do the move."""
        move = self.take_in_question
        assert move is not None
        robbed = self._robbed_by(move)
        while len(self.answers) < len(robbed):
            seat = robbed[len(self.answers)]
            if self._replies_of(self.seats[seat]):
                self.robbed = seat
                return
            self.answers.append(False)
        self.take_in_question, self.robbed = None, None
        self._do(move, list(self.answers))

    def _robbed_by(self, move: Move) -> list[int]:
        seats = len(self.seats)
        if move[0] == moves.TAKE_LOOSE:
            return [(self.seat + move[1]) % seats]
        if move[0] == moves.USE:
            return [
                (self.seat + option[0]) % seats
                for effect, option in bonus_moves.parts_of_use(self, move)
                if effect.name == "take-any-loose"
            ]
        return []

    def _replies_of(self, seat: Seat) -> list[str]:
        return [id for id in seat.bonuses if self.game.bonus(id).when == "reply"]

    def _do(self, move: Move, cancelled: list[bool]) -> None:
        number, *arguments = move
        if number == moves.TAKE_LOOSE and cancelled[0]:
            self.draws -= 1
        else:
            self._pay(move)
        if number == moves.USE:
            self._use(move, cancelled)
        elif number != moves.TAKE_LOOSE or not cancelled[0]:
            doing: dict[int, Callable[..., None]] = {
                moves.DRAW_STOCK: self._draw_stock,
                moves.DRAW_DISPLAY: self._draw_display,
                moves.SWAP: self._swap,
                moves.TAKE_LOOSE: self._take_loose,
                moves.LIFT: self._lift,
                moves.LAY: self._lay,
                moves.ATTACH: self._attach,
                moves.ATTACH_OVER_GAP: self._attach_over_gap,
                moves.JOIN: self._join,
                moves.CLAIM: self._claim,
            }
            doing[number](*arguments)
        self._note_enacted()

    def _note_enacted(self) -> None:
        """Write down which structures lie next to each other in the mover's strands."""
        for strand in self.seats[self.seat].strands:
            for side in (strand.proximal_side(), strand.distal_side()):
                cards = [side[tier] for tier in sorted(side)]
                self.enacted[self.seat] |= {
                    (one.kind, other.kind) for one, other in pairwise(cards)
                }

    def _draw_stock(self) -> None:
        self.draw_to_hand(self.seats[self.seat])

    def _draw_display(self, kind: int) -> None:
        name = self.game.hand_kinds[kind]
        place = next(p for p, card in enumerate(self.display) if card.kind == name)
        self.seats[self.seat].hand.append(self.display.pop(place))
        self.note("drawn", kind=name)
        if self.stock:
            self.display.insert(place, self.stock.pop(0))

    def _swap(self, kind: int) -> None:
        seat = self.seats[self.seat]
        card = self.from_hand(seat, self.game.hand_kinds[kind])
        if self.game.rules.swapped_go == "under":
            self.stock.append(card)
        else:
            self.pile.append(card)
        self.draw_to_hand(seat)

    def _take_loose(self, on: int, place: int, kind: int) -> None:
        strand = self._own_strand(place)
        rival = self.seats[(self.seat + on) % len(self.seats)]
        tier, card = self.lift_loose(rival, kind)
        strand.cards[tier] = card
        self.note("take")
        self.note("lengthened")

    def _lift(self, place: int, end: int) -> None:
        seat = self.seats[self.seat]
        if not self.stock:
            seat.late_lifts -= 1
        strand = self._own_strand(place)
        tier = strand.tiers[-end]
        seat.hand.append(strand.cards[tier])
        self.take_away(seat, strand, tier)

    def _placed(self, kind: int) -> tuple[int, Card]:
        """Take from the hand the card that is laid as a placed kind; give its tier too."""
        name = self.game.placed_kinds[kind]
        if name.startswith(f"{WILD_ANY}@"):
            tier = self.game.tiers.index(name.removeprefix(f"{WILD_ANY}@"))
            card = self.from_hand(self.seats[self.seat], WILD_ANY)
        else:
            card = self.from_hand(self.seats[self.seat], name)
            tier = self.tier_of(card)
        self.note("played", kind=card.kind)
        return tier, card

    def _lay(self, kind: int) -> None:
        tier, card = self._placed(kind)
        self.seats[self.seat].strands.append(Strand({tier: card}))

    def _attach(self, place: int, kind: int) -> None:
        strand = self._own_strand(place)
        tier, card = self._placed(kind)
        strand.cards[tier] = card
        self.note("lengthened")

    def _attach_over_gap(self, place: int, kind: int) -> None:
        strand = self._own_strand(place)
        tier, card = self._placed(kind)
        strand.gap = tier if tier > strand.tiers[-1] else strand.tiers[0]
        strand.variant = self.from_hand(self.seats[self.seat], VARIANT)
        self.note("played", kind=VARIANT)
        strand.cards[tier] = card
        self.note("lengthened")

    def _join(self, first: int, later: int) -> None:
        seat = self.seats[self.seat]
        one, other = self._own_strand(first), self._own_strand(later)
        one.cards.update(other.cards)
        seat.strands = [strand for strand in seat.strands if strand is not other]
        self.note("joined")

    def _claim(self, place: int, number: int) -> None:
        seat = self.seats[self.seat]
        strand = self._own_strand(place)
        target = self.game.targets[number]
        distal = strand.distal_side()
        minimum = self.claim_minimum_of(seat)
        full = target in self.book.full(slots_of(distal, self.tiers), minimum)
        points = self.points_for(target, len(distal))
        extra = self.lasting(seat, "points", self.game.anatomy.target(target).kind)
        card, secret = self._remove_target(seat, target)
        seat.strands = [other for other in seat.strands if other is not strand]
        claim = Claim(card, strand.all_cards, len(distal), points, extra, full, self.turn, secret)
        seat.claims.append(claim)
        seat.points += points + extra
        untrue = not self.book.is_true_claim(slots_of(distal, self.tiers), target)
        self.note("claim", claim=claim, untrue=untrue)
        self.enacted[self.seat] |= set(offers.tried_by_claim(strand, target))
        if full:
            self._earn(seat, target, distal)

    def _remove_target(self, seat: Seat, target: str) -> tuple[Card, bool]:
        """Take a target card away, the open one first, and put a new one where it lay."""
        new = self.target_stock[0] if self.target_stock else None
        for place, card in enumerate(self.open_targets):
            if card is not None and card.kind == target:
                self.open_targets[place] = new
                if new is not None:
                    self.target_stock.pop(0)
                    self.note("open", target=new)
                return card, False
        place = next(p for p, card in enumerate(seat.secrets) if card.kind == target)
        card = seat.secrets.pop(place)
        if new is not None:
            seat.secrets.insert(place, self.target_stock.pop(0))
            self.note("secret", target=new)
        return card, True

    def _earn(self, seat: Seat, target: str, distal: dict[int, Card]) -> None:
        printed_on = self.game.bonus_settings.printed_on
        name = target
        if printed_on != "target":
            card = distal.get(self.game.tiers.index(printed_on))
            name = card.kind if card is not None else ""
        if name in self.game.bonus_of:
            seat.bonuses.append(self.game.bonus_of[name])

    def _use(self, move: Move, cancelled: list[bool]) -> None:
        bonus = self.game.bonuses[move[1]]
        parts = bonus_moves.parts_of_use(self, move)
        self.seats[self.seat].bonuses.remove(bonus.id)
        answers = iter(cancelled)
        for effect, option in parts:
            if effect.name != "take-any-loose" or not next(answers):
                bonus_moves.do_part(self, effect, option)

    # Turns.

    def _begin_turn(self) -> None:
        self.turn += 1
        self.draws, self.plays = self.game.rules.draw_count, self.game.rules.play_count
        self.began, self.fresh = False, True
        self.note("turn", stuck=self._is_stuck())

    def _is_stuck(self) -> bool:
        """Tell whether no attach, join or claim is possible from hand and table."""
        possible = [*moves.legal_plays(self), *moves.joins(self), *moves.claims(self)]
        wanted = (moves.ATTACH, moves.ATTACH_OVER_GAP, moves.JOIN, moves.CLAIM)
        return not any(move[0] in wanted for move in possible)

    def _to_next_decision(self) -> None:
        self.legal: list[Move] = []
        while not self.finished:
            self.legal = legal_moves(self)
            if self.legal:
                return
            self._close_turn()
            self._cards.check(self)

    def _is_all_passed_game(self) -> bool:
        return any(end.kind == "all-passed" for end in self._ends())

    def _ends(self) -> Sequence[Any]:
        return self.game.rules.end.at(len(self.seats))

    def _close_turn(self) -> None:
        seat = self.seats[self.seat]
        if self.game.rules.refill:
            while self.stock and len(seat.hand) < self.hand_limit_of(seat):
                self.draw_to_hand(seat)
        if not self.fresh:
            self.still = 0
        elif not seat.passed:
            self.still += 1
        self.note("closed", points=[other.points for other in self.seats])
        self.ended_by = self._reason_to_end()
        if self.ended_by is None:
            self._to_next_seat()
            self._begin_turn()

    def _reason_to_end(self) -> str | None:
        staying = [number for number, seat in enumerate(self.seats) if not seat.passed]
        if self._is_all_passed_game() and not staying:
            return "own rule"
        if any(self._is_reached(end.kind, end.amount) for end in self._ends()):
            self.last_round = True
        if self.last_round and not any(number > self.seat for number in staying):
            return "own rule"
        in_reach = [*self.target_stock, *filter(None, self.open_targets)]
        if not in_reach and not any(seat.secrets for seat in self.seats):
            return "targets gone"
        if self.still >= len(staying):
            return "nobody moves"
        if self.turn == 4 * self.game.part_cards + 100:
            return "unfinished"
        return None

    def _is_reached(self, kind: str, amount: int) -> bool:
        if kind == "claims":
            return any(len(seat.claims) >= amount for seat in self.seats)
        if kind == "points":
            return any(seat.points >= amount for seat in self.seats)
        if kind == "rounds":
            return self.round >= amount
        if kind == "stock-empty":
            return not self.stock
        if kind == "clock":
            seconds = self.turn * self.game.goals.seconds_per_turn
            return seconds >= amount * SECONDS_A_MINUTE
        return False

    def _to_next_seat(self) -> None:
        staying = [number for number, seat in enumerate(self.seats) if not seat.passed]
        later = [number for number in staying if number > self.seat]
        if not later:
            self.round += 1
        self.seat = min(later or staying)
