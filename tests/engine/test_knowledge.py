"""Players who know a part of the map: names, beliefs, what a refusal costs, what is counted.

That the moves offered are those of docs/rules.md is compared with the slow table (docs/oracle.md).
"""

from __future__ import annotations

from functools import cache
from pathlib import Path

import numpy as np
import pytest

from nervure.engine import Move, MoveNumber, Position, digest, joined_blocks, play
from nervure.engine.layout import BELIEF_WORDS, Mask, Number
from nervure.engine.line_up import knowledge_of, style_of
from nervure.errors import BadUsage, UnknownName
from nervure.game import Tables, compile_game, read_game
from nervure.game.facts import facts_in, facts_of
from nervure.maps import game_folder
from nervure.project import read_folder

DESIGNS = Path(__file__).resolve().parent.parent / "golden" / "designs"
LINE_UP = ("sprinter@0.5", "weigher@0.25", "builder")


@cache
def veiled(seats: int = 3) -> Tables:
    """Give an invented design whose cards print nothing."""
    return compile_game(read_game(read_folder(DESIGNS / "veiled")), seats)


@pytest.mark.parametrize(
    ("name", "share"),
    [
        ("weigher", 1000),
        ("weigher@1", 1000),
        ("sprinter@1.000", 1000),
        ("builder@0", 0),
        ("builder@0.5", 500),
        ("sprinter@0.25", 250),
        ("weigher@0.007", 7),
        ("chance", 1000),
        ("searcher:20", 1000),
    ],
)
def test_a_name_says_what_share_its_player_knows(name: str, share: int) -> None:
    assert knowledge_of(name) == share


def test_a_style_with_knowledge_is_the_style() -> None:
    assert style_of("builder@0.5") == style_of("builder")


@pytest.mark.parametrize(
    "name",
    ["weigher@", "weigher@2", "weigher@1.001", "weigher@-1", "weigher@0.1234", "weigher@.5",
     "weigher@half", "weigher@0.5@0.5", "chance@0.5", "searcher:20@0.5", "searcher@1"],
)  # fmt: skip
def test_another_share_or_style_is_refused(name: str) -> None:
    with pytest.raises(BadUsage):
        style_of(name)


def test_an_unknown_style_with_knowledge_is_an_unknown_name() -> None:
    with pytest.raises(UnknownName):
        style_of("sprintr@0.5")


@pytest.mark.parametrize("style", ["sprinter", "builder", "weigher"])
def test_who_knows_all_plays_the_games_of_the_plain_style(style: str) -> None:
    plain = play(veiled(), [style] * 3, seed=3, deals=20)
    knowing = play(veiled(), [f"{style}@1"] * 3, seed=3, deals=20)

    assert digest([plain]) == digest([knowing])


@pytest.mark.parametrize("name", ["giants-leg", "lock-keepers"])
def test_where_cards_print_everything_nothing_is_left_to_know(name: str) -> None:
    tables = compile_game(read_game(read_folder(game_folder(name))), 2)
    plain = play(tables, ["sprinter", "weigher"], seed=3, deals=20)
    knowing = play(tables, ["sprinter@0", "weigher@0"], seed=3, deals=20)

    assert digest([plain]) == digest([knowing])


def believed(share: str, seat: int) -> set[tuple[int, int]]:
    """Give the pairs of words and bits that a seat believes at the start of a game."""
    position = Position.start(veiled(), 5, line_up=[f"sprinter@{share}"] * 3)
    start = Mask.BELIEFS + seat * BELIEF_WORDS
    words = position._masks[start : start + BELIEF_WORDS].tolist()
    return {
        (place, bit) for place, word in enumerate(words) for bit in range(64) if word >> bit & 1
    }


def test_of_what_is_true_more_knowledge_keeps_what_less_knew() -> None:
    position = Position.start(veiled(), 5, line_up=["sprinter@0.999"] * 3)
    everything = len(veiled().facts)
    true = set()
    junctions, supplies = veiled().facts.junctions, veiled().facts.supplies
    for one, other in np.argwhere(junctions >= 0).tolist():
        true |= {(one, other), (64 + other, one)}
    true |= {(128 + 2 * one, target) for one, target in np.argwhere(supplies >= 0).tolist()}
    assert position is not None

    for seat in range(3):
        known = [believed(share, seat) & true for share in ("0", "0.3", "0.6", "0.999")]
        assert known[0] == set()
        assert known[0] <= known[1] <= known[2] <= known[3]
        assert len(known[1]) < len(known[3]) <= 2 * everything


def test_two_players_of_the_same_share_know_different_things() -> None:
    assert believed("0.5", 0) != believed("0.5", 1)


def test_what_a_player_believes_goes_with_it_from_seat_to_seat() -> None:
    line_up = ["sprinter@0.5"] * 3
    here = Position.start(veiled(), 5, line_up=line_up)
    there = Position.start(veiled(), 5, rotation=1, line_up=line_up)

    for seat in range(3):
        one = Mask.BELIEFS + seat * BELIEF_WORDS
        other = Mask.BELIEFS + (seat + 1) % 3 * BELIEF_WORDS
        assert np.array_equal(
            here._masks[one : one + BELIEF_WORDS], there._masks[other : other + BELIEF_WORDS]
        )


def test_a_game_at_once_and_step_by_step_refuse_the_same_attempts() -> None:
    played = play(veiled(), LINE_UP, seed=4, deals=6)

    for deal in range(6):
        position = Position.start(veiled(), 4, deal, line_up=LINE_UP)
        while not position.finished:
            position.apply(position.choose(LINE_UP))
        assert position.result().refused.tolist()[0] == played.refused[deal].tolist()
    assert played.refused.sum(axis=0)[:2].min() > 0
    assert played.refused[:, 2].sum() == 0


def test_a_refused_attempt_does_not_come_again_in_its_game() -> None:
    for deal in range(20):
        position = Position.start(veiled(), 6, deal, line_up=LINE_UP)
        seen = set()
        while not position.finished:
            seat, tried = position.seat_to_move, position.refused(position.seat_to_move)
            move = position.choose(LINE_UP)
            cards = position.strands(seat), position.name(move)
            position.apply(move)
            if position.refused(seat) > tried:
                assert (seat, cards) not in seen
                seen.add((seat, cards))


def test_the_line_up_of_a_choice_names_the_knowledge_that_the_game_began_with() -> None:
    position = Position.start(veiled(), 4, line_up=LINE_UP)

    with pytest.raises(BadUsage):
        position.choose(["sprinter", "weigher@0.25", "builder"])


def test_refusals_by_false_fact_are_added_up_over_blocks_and_threads() -> None:
    whole = play(veiled(), LINE_UP, seed=4, deals=2000)
    threads = play(veiled(), LINE_UP, seed=4, deals=2000, workers=3)
    blocks = [play(veiled(), LINE_UP, seed=4, first_deal=start, deals=1000) for start in (0, 1000)]

    assert dict(whole.refused_by) == dict(threads.refused_by)
    assert dict(whole.refused_by) == dict(joined_blocks(blocks).refused_by)
    # An attempt may rest on two false facts, never on none.
    assert sum(whole.refused_by.values()) >= whole.refused.sum() > 0
    true = {fact.text for fact in facts_of(read_game(read_folder(DESIGNS / "veiled")))}
    assert true.isdisjoint(whole.refused_by)


def test_facts_are_noted_only_where_they_are_asked_for() -> None:
    plain = play(veiled(), LINE_UP, seed=4, deals=30)
    noted = play(veiled(), LINE_UP, seed=4, deals=30, facts=True)

    assert plain.enacted.shape == (30, 3, 0)
    assert noted.enacted.shape == (30, 3, 1)
    assert np.array_equal(plain.points, noted.points)


def test_every_claim_without_a_wild_enacts_its_supply() -> None:
    facts = facts_of(read_game(read_folder(DESIGNS / "veiled")))
    games = play(veiled(), LINE_UP, seed=4, deals=200, facts=True)
    flags = facts_in(games.enacted, facts)
    of_supplies = flags[:, :, [fact.is_supply for fact in facts]]

    # There is no wild card and no bonus in the design.
    assert np.array_equal(of_supplies.any(axis=2), games.claims > 0)
    assert np.all(of_supplies.sum(axis=2) <= games.claims)


def test_a_searcher_plays_against_one_who_knows_a_part() -> None:
    games = play(veiled(), ["searcher:5", "sprinter@0.25", "chance"], seed=4, deals=20, facts=True)

    assert games.refused[:, 1].sum() > 0
    assert games.refused[:, [0, 2]].sum() == 0
    assert games.enacted.any()


# What people pay.


def to_plays(tables: Tables) -> Position:
    """Give a game at the first decision with a play and loose cards on the table."""
    position = Position.start(tables, 12)
    while True:
        moves = position.legal_moves()
        lays = [move for move in moves if move.number == MoveNumber.LAY]
        if lays and len(position.strands(position.seat_to_move)) >= 2:
            return position
        position.apply(lays[0] if lays else moves[0])


def untrue(position: Position, number: MoveNumber) -> Move:
    """Give a move of a kind, with arguments in range, that is not legal."""
    legal = position.legal_moves()
    strands = len(position.strands(position.seat_to_move))
    last = {MoveNumber.ATTACH: 6, MoveNumber.JOIN: strands, MoveNumber.CLAIM: 4}[number]
    for one in range(strands):
        for other in range(one + 1 if number is MoveNumber.JOIN else 0, last):
            if Move(number, (one, other)) not in legal:
                return Move(number, (one, other))
    raise AssertionError(number)


@pytest.mark.parametrize(
    ("number", "plays"), [(MoveNumber.ATTACH, 1), (MoveNumber.JOIN, 0), (MoveNumber.CLAIM, 0)]
)
def test_a_refused_attempt_costs_its_play_and_nothing_else(number: MoveNumber, plays: int) -> None:
    position = to_plays(veiled())
    seat = position.seat_to_move
    before = position.clone()

    position.refuse(untrue(position, number))

    assert before._numbers[Number.PLAYS] - position._numbers[Number.PLAYS] == plays
    assert position.refused(seat) == before.refused(seat) + 1
    assert position.hand(seat) == before.hand(seat)
    assert position.strands(seat) == before.strands(seat)
    assert position.open_targets == before.open_targets
    assert position.stock == before.stock
    assert position._numbers[Number.FRESH] == 0


def test_a_refused_take_costs_a_draw_and_a_play() -> None:
    position = Position.start(veiled(), 12)
    draws, plays = position._numbers[[Number.DRAWS, Number.PLAYS]].tolist()

    position.refuse(Move(MoveNumber.TAKE_LOOSE, (1, 0, 0)))

    assert position._numbers[[Number.DRAWS, Number.PLAYS]].tolist() == [draws - 1, plays - 1]
    assert position._numbers[Number.BEGAN] == 1


def test_the_turn_closes_when_an_attempt_uses_the_last_play() -> None:
    position = to_plays(veiled())
    turn = position.turn

    while position.turn == turn:
        position.refuse(untrue(position, MoveNumber.ATTACH))

    assert position.turn == turn + 1


@pytest.mark.parametrize("move", [Move(0), Move(2), Move(7, (0,)), Move(12, (0,))])
def test_only_an_attempt_can_be_refused(move: Move) -> None:
    with pytest.raises(BadUsage):
        to_plays(veiled()).refuse(move)


def test_a_legal_move_is_not_refused() -> None:
    position = to_plays(veiled())
    legal = next(move for move in position.legal_moves() if move.number != MoveNumber.LAY)

    with pytest.raises(BadUsage):
        position.refuse(legal)


def test_before_the_draw_an_attach_is_no_attempt() -> None:
    position = Position.start(veiled(), 12)

    with pytest.raises(BadUsage):
        position.refuse(Move(MoveNumber.ATTACH, (0, 0)))
