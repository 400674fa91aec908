"""Laws that no game may break, looked at on the engine alone.

`play_and_look` steps through a game and counts, from the design and from what lies on the
table, what each move may change; `look_at_rows` holds the columns of many games to the same
counts. Neither knows what a legal move is: they only know that cards do not come or go.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence

import numpy as np

from nervure.engine import EndedBy, Games, Move, MoveNumber, Position, TableStrand
from nervure.game import Game
from nervure.game.compile import compile_game
from nervure.game.deck import VARIANT, WILD_ANY

MOST_DECISIONS_A_TURN = 400
"""No turn comes near it: a hand, a table and three plays are done with sooner."""

WHOLE_SHARE = 60


def cards_on_table(position: Position, seat: int) -> Counter[str]:
    """Count a seat's cards on the table by hand kind; a gap is held open by a variant card."""
    found: Counter[str] = Counter()
    for strand in position.strands(seat):
        for name in filter(None, strand.slots):
            found[WILD_ANY if name.startswith(f"{WILD_ANY}@") else name] += strand.copies
        if strand.gap:
            found[VARIANT] += strand.copies
    return found


class Ledger:
    """What a game's moves have brought about, counted beside the engine."""

    def __init__(self, game: Game, position: Position) -> None:
        seats = position.tables.seats
        self.game, self.position, self.seats = game, position, range(seats)
        self.claimed_targets: Counter[str] = Counter()
        self.claims, self.length_points = [0] * seats, [0] * seats
        self.claimed_length = 0
        self.swapped: Counter[str] = Counter()
        self.returned: Counter[str] = Counter()
        self.moves: Counter[int] = Counter()
        self.decisions = self.choices = self.forced = 0

    def table(self) -> Counter[str]:
        """Count all part cards on the table."""
        return sum((cards_on_table(self.position, seat) for seat in self.seats), Counter())

    def look(self) -> None:
        """Find every card in one place, and nothing below nought."""
        position = self.position
        places: list[Mapping[str, int]] = [Counter(position.stock), position.display]
        places += [position.pile, position.card_claimed]
        places += [position.hand(seat) for seat in self.seats]
        found = self.table()
        for place in places:
            assert all(count > 0 for count in place.values()), place
            found.update(place)
        wanted = {kind: count for kind, count in self.game.copies.items() if count}
        assert dict(found) == wanted, f"turn {position.turn}: part cards"

        targets = Counter(position.target_stock) + self.claimed_targets
        targets.update(target for target in position.open_targets if target)
        for seat in self.seats:
            targets.update(position.secret_targets(seat))
        wanted = {target: count for target, count in self.game.target_copies.items() if count}
        assert dict(targets) == wanted, f"turn {position.turn}: target cards"
        assert [position.claims(seat) for seat in self.seats] == self.claims
        assert all(position.points(seat) >= 0 for seat in self.seats)

    def make(self, move: Move) -> None:
        """Make a move and note what it may have changed."""
        position, seat = self.position, self.position.seat_to_move
        legal = position.legal_moves()
        assert move in legal, position.name(move)
        self.decisions += 1
        self.choices += len(legal)
        self.forced += len(legal) == 1
        self.moves[move.number] += 1
        table = self.table()
        points = [position.points(other) for other in self.seats]
        strand = None
        if move.number == MoveNumber.CLAIM:
            strand = position.strands(seat)[move.args[0]]
        elif move.number == MoveNumber.SWAP:
            self.swapped[position.tables.hand_kinds[move.args[0]]] += 1
        position.apply(move)
        gained = [position.points(other) - points[other] for other in self.seats]
        assert all(gained[other] == 0 for other in self.seats if other != seat), gained
        if strand is not None:
            self._note_claim(seat, strand, position.tables.targets[move.args[1]], gained[seat])
        else:
            assert gained[seat] == 0 or move.number == MoveNumber.USE, position.name(move)
            assert gained[seat] >= 0
            self.returned.update(table - self.table())

    def _note_claim(self, seat: int, strand: TableStrand, target: str, gained: int) -> None:
        cards = sum(name is not None for name in strand.slots[strand.gap :])
        ladder = self.game.points_of[target]
        step = max(0, cards - max(1, self.game.rules.claim_minimum))
        paid = ladder[min(step, len(ladder) - 1)]
        assert gained == paid if not self.game.bonuses else gained >= paid
        self.claims[seat] += 1
        self.length_points[seat] += paid
        self.claimed_targets[target] += 1
        self.claimed_length += cards

    def settle(self) -> Games:
        """Hold the row of the finished game to what was counted; gives the row."""
        position, row = self.position, self.position.result()
        kinds = position.tables.hand_kinds
        left = self.table()
        for seat in self.seats:
            left.update(position.hand(seat))
        claimed = Counter(position.card_claimed)

        def column(name: str) -> list[int]:
            return row.columns()[name][0].tolist()

        assert column("card_left") == [left[kind] for kind in kinds]
        assert column("card_claimed") == [claimed[kind] for kind in kinds]
        # What came to a hand is there, on the table, claimed, or was swapped away.
        kept = left + claimed + self.swapped
        assert column("card_drawn") == [kept[kind] for kind in kinds]
        # What was played lies there, was claimed, or went back to a hand.
        played = self.table() + claimed + self.returned
        assert column("card_played") == [played[kind] for kind in kinds]
        assert column("claims") == self.claims
        assert column("points_length") == self.length_points
        targets = position.tables.targets
        assert column("target_claimed") == [self.claimed_targets[target] for target in targets]
        assert sum(column("claim_length")) == self.claimed_length
        assert row.decisions[0] == self.decisions
        assert row.choices[0] == self.choices
        assert row.forced[0] == self.forced
        look_at_rows(self.game, row)
        return row


def play_and_look(
    game: Game, seats: int, *, seed: int, deal: int, line_up: Sequence[str]
) -> Ledger:
    """Play one game, looked at before and after every move; gives what was counted."""
    position = Position.start(compile_game(game, seats), seed, deal)
    ledger = Ledger(game, position)
    most = MOST_DECISIONS_A_TURN * (4 * game.part_cards + 100)
    while not position.finished:
        ledger.look()
        ledger.make(position.choose(line_up))
        assert ledger.decisions < most, "a game without end"
    ledger.look()
    assert position.legal_moves() == []
    ledger.settle()
    return ledger


def look_at_rows(game: Game, games: Games) -> None:
    """Hold all columns of played games to what is drawn, played, claimed and left."""
    seats = games.seats
    copies = np.array([game.copies[kind] for kind in game.hand_kinds])
    may_be_none = {"first_claim": -1, "leader_three_quarters": -1}
    for name, column in games.columns().items():
        assert column.min(initial=0) >= may_be_none.get(name, 0), name
    kept = games.card_claimed + games.card_left
    assert np.all(kept <= copies)
    assert np.all(games.card_drawn >= kept)
    if "swap" not in game.rules.draws:
        assert np.array_equal(games.card_drawn, kept)
    elif game.rules.swapped_go == "pile":  # from which nothing comes back
        assert np.all(games.card_drawn <= copies)
    assert np.all(games.card_played >= games.card_claimed)
    effects = {effect.name for bonus in game.bonuses for effect in bonus.effects}
    if "lift" not in game.rules.draws and "take-any-loose" not in effects:
        assert np.all(games.card_played <= kept)
    lengths = games.claim_length.sum(axis=1)
    assert np.all(games.card_claimed.sum(axis=1) >= lengths)
    if VARIANT not in game.hand_kinds:
        assert np.array_equal(games.card_claimed.sum(axis=1), lengths)
    assert np.array_equal(games.claims.sum(axis=1), games.target_claimed.sum(axis=1))
    copies_of_targets = np.array([game.target_copies[target] for target in game.targets])
    assert np.all(games.target_claimed <= copies_of_targets)
    assert np.array_equal(games.points, games.points_length + games.points_bonus)
    if not game.bonuses:
        assert not games.points_bonus.any()
    most = np.array([max(game.points_of[target]) for target in game.targets])
    assert np.all(games.points_length.sum(axis=1) <= games.target_claimed @ most)
    assert np.all(games.share.sum(axis=1) == (WHOLE_SHARE if seats > 1 else 0))
    assert np.all(np.sort(games.player, axis=1) == np.arange(seats))
    assert np.all(games.full_claims <= games.claims)
    assert np.all((games.first_claim >= 1) == (games.claims > 0))
    assert np.all(games.first_claim <= games.turns[:, None])
    assert np.all(games.choices >= games.decisions)
    assert np.all(games.forced <= games.decisions)
    assert np.all(games.turns_judged <= games.turns)
    assert np.all(games.idle <= games.turns)
    assert np.all(games.turns <= 4 * game.part_cards + 100)
    cut = games.turns[games.ended_by == EndedBy.UNFINISHED]
    assert np.all(cut == 4 * game.part_cards + 100)
