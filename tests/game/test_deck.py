"""What follows from deck.csv and the rules: kinds, copies, points, bonuses, limits, version."""

from __future__ import annotations

from typing import Any

import pytest

from nervure.game import Game


def test_kinds_stand_in_the_order_of_the_rules(make_game: Any, small: dict[str, Any]) -> None:
    deck = [("variant", 1), ("wild:any", 2), ("wild:nerve", 1), ("wild:root", 1)]
    game = make_game(small, deck)

    real = ("r1", "r2", "t", "a", "b")
    assert game.hand_kinds == (*real, "wild:root", "wild:nerve", "wild:any", "variant")
    anywhere = ("wild:any@root", "wild:any@trunk", "wild:any@nerve")
    assert game.placed_kinds == (*real, "wild:root", "wild:nerve", *anywhere)


def test_structures_stand_by_tier_then_by_row(make_game: Any, make_map: Any) -> None:
    map_ = make_map(
        tiers="root: r\nnerve: n2 n1\nbranch: b",
        links="r n1\nr n2\nn1 b\nn2 b",
        supplies="ma b r",
    )

    assert make_game({"tiers": ["branch", "nerve"]}, map_=map_).structures == ("n2", "n1", "b")


def test_copies_default_to_two_parts_and_one_target(make_game: Any, small: dict[str, Any]) -> None:
    game = make_game(small, [("r1", 3), ("mb", 2)])

    assert dict(game.copies) == {"r1": 3, "r2": 2, "t": 2, "a": 2, "b": 2}
    assert dict(game.target_copies) == {"ma": 1, "mb": 2}
    assert (game.part_cards, game.target_cards) == (11, 3)


def test_listed_points_run_from_the_minimum_and_the_last_holds_for_longer_ones(
    make_game: Any, small: dict[str, Any]
) -> None:
    # Pathways have three cards, so there are rungs for two and three.
    game = make_game(small, [("ma", None, "4"), ("mb", None, "2 5 9")])

    assert dict(game.points_of) == {"ma": (4, 4), "mb": (2, 5)}
    assert game.points_for("mb", 3) == 5
    assert game.points_for("mb", 1) == 2


def test_targets_without_listed_points_are_paid_by_difficulty(
    make_game: Any, small: dict[str, Any]
) -> None:
    listed = make_game(small, [("ma", None, "40 50")])
    alone = make_game(small)

    assert listed.points_of["ma"] == (40, 50)
    assert listed.points_of["mb"] == alone.points_of["mb"]


def test_an_unclaimable_target_stays_out_with_a_warning(
    make_game: Any, make_map: Any, small: dict[str, Any]
) -> None:
    map_ = make_map(supplies="ma a r1\nmb b r2\nmr r1 r1")
    game = make_game(small, map_=map_)

    assert game.targets == ("ma", "mb")
    assert game.unclaimable == ("mr",)
    warnings = [fault for fault in game.faults if fault.code == "target-unclaimable"]
    assert [(fault.level, fault.place.file, fault.place.row) for fault in warnings] == [
        ("warning", "map/targets.csv", 4)
    ]


def test_targets_are_chosen_by_kind_or_id(make_game: Any, make_map: Any) -> None:
    map_ = make_map(kinds="mb=skin")

    assert make_game(map_=map_).targets == ("ma",)
    assert make_game({"targets": ["skin"]}, map_=map_).targets == ("mb",)
    assert make_game({"targets": ["mb", "muscle"]}, map_=map_).targets == ("ma", "mb")


BONUSES = [{"id": "first"}, {"id": "second"}]


def test_bonuses_go_round_the_cards_if_deck_csv_names_none(
    make_game: Any, small: dict[str, Any]
) -> None:
    on_targets = make_game(small, bonus=BONUSES)
    on_nerves = make_game(small, bonus=BONUSES, bonuses={"printed_on": "nerve"})

    assert dict(on_targets.bonus_of) == {"ma": "first", "mb": "second"}
    assert dict(on_nerves.bonus_of) == {"a": "first", "b": "second"}


def test_named_bonuses_are_the_only_ones(make_game: Any, small: dict[str, Any]) -> None:
    game = make_game(small, [("mb", None, "", "first")], bonus=BONUSES)

    assert dict(game.bonus_of) == {"mb": "first"}


@pytest.mark.parametrize(
    ("rules", "deck"),
    [({"hand": 3}, []), ({}, [("a", 3)]), ({}, [("ma", None, "7")]), ({"insert": True}, [])],
)
def test_the_version_follows_the_design(
    make_game: Any, small: dict[str, Any], rules: dict[str, Any], deck: list[tuple[Any, ...]]
) -> None:
    assert make_game({**small, **rules}, deck).version != make_game(small).version


def test_the_version_does_not_follow_goals_and_look(make_game: Any, small: dict[str, Any]) -> None:
    game: Game = make_game(small, goals={"turns": [1, 9]}, look={"size": "bridge"})

    assert game.version == make_game(small).version
    assert game.look.trim == (57.0, 89.0)


def test_past_the_limits_every_bound_is_told_and_nothing_is_counted(
    make_game: Any, make_map: Any
) -> None:
    names = " ".join(f"n{i}" for i in range(70))
    links = "\n".join(f"r n{i}" for i in range(70))
    map_ = make_map(tiers=f"root: r\nnerve: {names}", links=links, supplies="ma n0 r")
    game = make_game(map_=map_)

    assert [fault.value for fault in game.faults if fault.code == "past-limit"] == ["71", "71"]
    assert game.unclaimable == ()


def test_tuning_ranges_are_written_out(make_game: Any, small: dict[str, Any]) -> None:
    tune = {
        "rules": {"hand": [2, 4]},
        "deck.tier:nerve.copies": [1, 3],
        "deck.ma.points": {"choices": ["2 4", "3 6"]},
    }
    game = make_game(small, tune=tune)

    assert game.ok
    assert [(entry.key, entry.values) for entry in game.tune] == [
        ("rules.hand", (2, 3, 4)),
        ("deck.tier:nerve.copies", (1, 2, 3)),
        ("deck.ma.points", ("2 4", "3 6")),
    ]
