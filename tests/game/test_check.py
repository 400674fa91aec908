"""Counts on the toy map by hand; the printed test; the end, reasoned; the record of check.

Toy map: r1 -- t -- a -- ma (r1), r2 -- t -- b -- mb (r2), fibres of r1 also run t -> b.
"""

from __future__ import annotations

import json
from typing import Any

import pytest

from nervure.game import check_game, ending, printed_test, untrue_strands


def test_legal_strands_by_length(make_game: Any, small: dict[str, Any]) -> None:
    # Two pathways of three cards: each three pairs and one triple, none shared; five loose.
    assert check_game(make_game(small)).legal_strands == {1: 5, 2: 6, 3: 2}


def test_a_true_game_has_no_untrue_strand(make_game: Any, small: dict[str, Any]) -> None:
    found = untrue_strands(make_game(small))

    assert (found.count, found.claims) == (0, 0)


def test_a_neighbours_game_counts_and_names_its_untrue_strands(
    make_game: Any, small: dict[str, Any]
) -> None:
    # Pairs with a chain of one origin: the six true ones and r1-b. Triples: r1-t-a, r2-t-b,
    # r1-t-b (r1 throughout), r2-t-a (r2 into t, r1 out of it).
    found = untrue_strands(make_game({**small, "connect": "neighbours"}))

    assert found.count == 3
    assert found.by_length == {2: 1, 3: 2}
    assert found.examples == (("r1", "b"), ("r1", "t", "b"), ("r2", "t", "a"))
    assert found.claims == 0  # supply "true" lets none of them claim


def test_the_last_card_alone_lets_untrue_claims_through(
    make_game: Any, small: dict[str, Any]
) -> None:
    game = make_game({**small, "connect": "neighbours", "supply": "last-card"})

    assert untrue_strands(game).claim_examples == (
        (("r1", "b"), "mb"),
        (("r1", "t", "b"), "mb"),
        (("r2", "t", "a"), "ma"),
    )


def test_pathways_and_strands_of_a_target(make_game: Any, small: dict[str, Any]) -> None:
    target = check_game(make_game(small)).targets["ma"]

    assert target.pathways == {3: 1}
    assert target.strands == {2: 2, 3: 1}  # r1-a, t-a; r1-t-a
    assert target.longest == 3


def test_idle_cards_are_in_no_claim(make_game: Any, make_map: Any) -> None:
    map_ = make_map(kinds="mb=skin")  # mb is not in the game, so r2 and b have nothing to do

    assert check_game(make_game(map_=map_)).idle_cards == ("r2", "b")


PRINTED = [
    # rules, (passing untrue strands, claims), (failing true strands, claims)
    ({"parts_show": "links-and-targets"}, (0, 0), (0, 0)),
    ({"parts_show": "links-and-targets", "targets_show": "nothing"}, (0, 0), (0, 0)),
    # Marked are r1: r1; r2: r2; t: both; a: r1; b: r2 (r1 runs into b for nothing). Nothing
    # says which cards lead to ma: r1-t passes beside its three claims, r2-t likewise for mb.
    ({}, (0, 2), (0, 0)),
    # Eight strands of two or more cards pass for both targets, six of the sixteen are true.
    ({"targets_show": "nothing"}, (0, 10), (0, 0)),
    ({"targets_show": "way"}, (0, 0), (0, 0)),
    ({"targets_show": "pathways"}, (0, 0), (0, 0)),
    # r1-b, r1-t-b and r2-t-a are joined and listed, but no origin is marked on all of them.
    ({"connect": "neighbours", "parts_show": "links-and-targets"}, (0, 0), (0, 0)),
    # Nothing is listed: no strand of two cards can be proved, and no claim.
    ({"parts_show": "nothing"}, (0, 0), (8, 6)),
]


@pytest.mark.parametrize(("rules", "passing", "failing"), PRINTED)
def test_the_printed_test_by_hand(
    make_game: Any,
    small: dict[str, Any],
    rules: dict[str, Any],
    passing: tuple[int, int],
    failing: tuple[int, int],
) -> None:
    found = printed_test(make_game({**small, **rules}))

    assert (found.passing_untrue.strands, found.passing_untrue.claims) == passing
    assert (found.failing_true.strands, found.failing_true.claims) == failing
    assert found.can_be_made is (rules.get("parts_show") != "nothing")


def test_without_skipping_cards_of_one_strand_still_list_each_other(
    make_game: Any, small: dict[str, Any]
) -> None:
    # r1 and a stand together in r1-t-a, so they list each other though neither may follow.
    game = make_game({**small, "skip_tiers": False, "parts_show": "links-and-targets"})

    assert game.prints.part_lists("r1") == ("t", "a")
    assert printed_test(game).is_exact


def test_cards_print_what_their_settings_let_through(
    make_game: Any, small: dict[str, Any]
) -> None:
    full = {"parts_show": "links-and-targets", "targets_show": "pathways"}
    shown = make_game({**small, **full}).prints
    hidden = make_game({**small, "parts_show": "nothing", "targets_show": "nothing"}).prints

    assert shown.part_lists("t") == ("r1", "r2", "a", "b")
    assert shown.part_lists_targets("a") == ("ma",)
    assert shown.part_lists_targets("t") == ()  # no strand that ends in t claims
    assert shown.origins_of_part["b"] == ("r2",)
    assert (shown.target_marks("ma"), shown.target_way("ma")) == (("r1",), ("a",))
    assert shown.target_lights("ma") == ("r1", "t", "a")
    assert (hidden.part_lists("t"), hidden.target_marks("ma")) == ((), None)


def test_pairs_may_agree_where_the_whole_does_not(make_game: Any, make_map: Any) -> None:
    # Three pathways of one origin hold each pair of x, y, z; none holds all three.
    map_ = make_map(
        tiers="root: r\none: x x2\ntwo: y y2\nthree: z z2",
        links="r x\nr x2\nx y\nx y2\nx2 y\ny z via=x2\ny z2\ny2 z",
        supplies="mz z r\nmz2 z2 r",
    )
    found = printed_test(make_game({"parts_show": "links-and-targets"}, map_=map_))

    assert found.passing_untrue.strand_examples == (("x", "y", "z"), ("r", "x", "y", "z"))


ENDINGS: list[tuple[dict[str, Any], str, str]] = [
    ({}, "certain", "comes to an end by itself"),
    ({"draws": ["stock", "lift"]}, "stallable", "lift"),
    ({"draws": ["stock", "swap"], "swapped_go": "under"}, "certain", "by itself"),
    (
        {"draws": ["stock", "swap"], "swapped_go": "under", "must_play": False},
        "stallable",
        "swap",
    ),
    ({"draws": ["stock", "swap"]}, "certain", "by itself"),
    ({"draws": ["stock", "lift"], "end": ["claims: 1", "rounds: 9"]}, "certain", "by itself"),
    ({"end": "claims: 3"}, "out-of-reach", "needs 3 target cards; the deck has 2"),
    ({"end": "claims: 2", "claim_minimum": 6}, "out-of-reach", "part cards"),
    ({"end": "points: 99"}, "out-of-reach", "at best"),
    ({"end": "stock-empty"}, "certain", "by itself"),
    (
        {"end": "stock-empty", "refill": False, "draws": ["take-loose"]},
        "out-of-reach",
        "nothing draws from the stock",
    ),
    (
        {"end": "stock-empty", "refill": False, "draws": ["display"], "display": 0},
        "out-of-reach",
        "nothing draws from the stock",
    ),
    ({"end": "all-passed"}, "out-of-reach", "may_pass"),
    ({"end": "all-passed", "may_pass": "stock-empty"}, "certain", "by itself"),
    (
        {"end": "all-passed", "may_pass": "stock-empty", "refill": False, "draws": ["take-loose"]},
        "out-of-reach",
        "nothing draws from the stock",
    ),
    ({"open_targets": 0}, "out-of-reach", "No target is ever open"),
    ({"open_targets": 0, "secret_targets": 1}, "certain", "by itself"),
]


@pytest.mark.parametrize(("rules", "verdict", "text"), ENDINGS)
def test_the_end_is_reasoned_as_the_rules_say(
    make_game: Any, small: dict[str, Any], rules: dict[str, Any], verdict: str, text: str
) -> None:
    # With a minimum of six nothing could be claimed, so copies are cut down instead.
    few = [(name, 1) for name in ("r1", "r2", "t", "a", "b")]
    deck = few if "claim_minimum" in rules else []
    rules = {**rules, "claim_minimum": 3} if "claim_minimum" in rules else rules
    (found,) = ending(make_game({**small, **rules}, deck))

    assert found.verdict == verdict
    assert text in found.sentence


def test_an_end_is_reasoned_for_every_number_of_players(
    make_game: Any, small: dict[str, Any]
) -> None:
    game = make_game({**small, "players": [2, 4], "end": {"2": "claims: 1", "4": "claims: 9"}})

    assert {found.players: found.verdict for found in ending(game)} == {
        2: "certain",
        3: "certain",
        4: "out-of-reach",
    }


def test_the_best_sum_counts_what_bonuses_score(make_game: Any, small: dict[str, Any]) -> None:
    deck = [("ma", None, "3"), ("mb", None, "4")]
    rules = {**small, "end": "points: 11"}
    bonus = [{"id": "gift", "does": ["points 2"]}]

    (without,) = ending(make_game(rules, deck))
    (with_bonus,) = ending(make_game(rules, deck, bonus=bonus))
    # 3 + 4 = 7; two bonuses of 2 make 11.
    assert (without.verdict, with_bonus.verdict) == ("out-of-reach", "certain")


def test_an_end_out_of_reach_is_an_error_and_a_stall_a_warning(
    make_game: Any, small: dict[str, Any]
) -> None:
    far = make_game({**small, "end": "claims: 9"}).faults
    stall = make_game({**small, "draws": ["lift", "stock"]}).faults

    assert [(fault.level, fault.code) for fault in far] == [("error", "end-out-of-reach")]
    assert [(fault.level, fault.code) for fault in stall] == [("warning", "end-stallable")]


def test_the_record_is_plain_data_with_the_keys_of_check(
    make_game: Any, small: dict[str, Any]
) -> None:
    record = check_game(make_game(small)).to_dict()

    assert json.loads(json.dumps(record)) == record
    assert {"targets", "untrue_strands", "printed_test", "ending"} <= set(record)
    assert {"pathways", "longest", "odds", "points", "difficulty"} <= set(record["targets"]["ma"])
