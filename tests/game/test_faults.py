"""Bad game.toml and deck.csv: every fault has its place and says what would be accepted."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from nervure.game import capabilities, read_game
from nervure.project import read_folder

BAD_RULES = [
    ("hnad", 3, "rules.hnad", "Nearest: rules.hand."),
    ("hand", 0, "rules.hand", "a whole number from 1 to 12"),
    ("hand", 4.5, "rules.hand", "a whole number from 1 to 12"),
    ("hand", "4", "rules.hand", '"4" does not fit'),
    ("hand", True, "rules.hand", "true does not fit"),
    ("hand", {"7": 3}, "rules.hand", "one by number of players"),
    ("hand", {}, "rules.hand", "one by number of players"),
    ("end", {"2": ["claims: 1"], "02": ["claims: 2"]}, "rules.end", "by number of players"),
    ("players", [4, 2], "rules.players", "the smallest and the largest"),
    ("players", [2, 7], "rules.players", "from 1 to 6"),
    ("players", 3, "rules.players", "as [2, 4]"),
    ("tiers", ["root", "nrve"], "rules.tiers", "'nrve' is no tier. Nearest: nerve"),
    ("targets", ["mc"], "rules.targets", "is no target or kind of target. Nearest: m"),
    ("targets", ["ma", "ma"], "rules.targets", "each once"),
    ("seat_cards", [0, 0, 0, 0, 0, 0, 1], "rules.seat_cards", "at most six"),
    ("open_targets", 9, "rules.open_targets", "from 0 to 8"),
    ("secret_targets", -1, "rules.secret_targets", "from 0 to 4"),
    ("draws", ["stock", "stok"], "rules.draws", '"take-loose"'),
    ("draw_count", 4, "rules.draw_count", "from 1 to 3"),
    ("must_play", "yes", "rules.must_play", "true or false"),
    ("connect", "neighbors", "rules.connect", '"true" or "neighbours"'),
    ("claim_needs", "last", "rules.claim_needs", '"origin"'),
    ("end", ["claims 6"], "rules.end", '"claims: N"'),
    ("end", [], "rules.end", '"claims: N"'),
    ("end", ["claims: 0"], "rules.end", '"claims: N"'),
    ("end", ["claims: 2", "claims: 3"], "rules.end", "each kind once"),
    ("tie_breaks", ["most-cards"], "rules.tie_breaks", '"target:ID"'),
    ("tie_breaks", ["target:mx"], "rules.tie_breaks", "'mx' is no target. Nearest: m"),
    ("parts_show", "link", "rules.parts_show", '"links-and-targets"'),
]


@pytest.mark.parametrize(("name", "value", "key", "text"), BAD_RULES)
def test_a_bad_rule_is_an_error_at_its_key_that_says_what_fits(
    make_game: Any, small: dict[str, Any], name: str, value: object, key: str, text: str
) -> None:
    game = make_game({**small, name: value})

    found = [fault for fault in game.faults if fault.place.column == key]
    assert [fault.level for fault in found] == ["error"]
    assert text in found[0].message
    assert found[0].message.startswith(f"game.toml, key {key}: ")


BAD_TABLES = [
    ({"points": {"method": "guess"}}, "points.method", '"listed" or "difficulty"'),
    ({"points": {"range": [9, 1]}}, "points.range", "as [1, 9]"),
    ({"points": 3}, "points", "a table of keys"),
    ({"bonuses": {"printed_on": "nrve"}}, "bonuses.printed_on", "Nearest: nerve"),
    ({"bonus": [{"when": "lasting", "does": ["draw 2"]}]}, "bonus.1.id", "an id of its own"),
    (
        {"bonus": [{"id": "x", "when": "lasting", "does": ["draw 2"]}]},
        "bonus.1.does",
        "Accepted: guard-loose, hand N, short-claim N, points N KIND.",
    ),
    ({"bonus": [{"id": "x", "does": ["draw"]}]}, "bonus.1.does", "draw N"),
    ({"bonus": [{"id": "x", "whne": "reply"}]}, "bonus.1.whne", "bonus.1.when"),
    ({"bonus": [{"id": "x"}, {"id": "x"}]}, "bonus.2.id", "'x' is missing or stands twice"),
    ({"goals": {"minute": [1, 2]}}, "goals.minute", "Nearest: goals.minutes."),
    ({"goals": {"idle": [0, 2]}}, "goals.idle", "shares from 0 to 1"),
    ({"goals": {"turns": [9, 2]}}, "goals.turns", "[low, high]"),
    ({"goals": {"players": [5]}}, "goals.players", "rules.players allows"),
    ({"look": {"size": "huge"}}, "look.size", '"tarot"'),
    ({"look": {"size": [10, 10]}}, "look.size", "40 to 150"),
    ({"objectives": [{"id": "o", "targets": ["mz"]}]}, "objectives.1.targets", "is no target"),
    ({"objectives": [{"id": "o", "text": "x"}]}, "objectives.1", "names no target"),
    ({"tune": {"rules.hnad": [1, 2]}}, "tune.rules.hnad", "tune.rules.hand"),
    ({"tune": {"rules.hand": [1, 20]}}, "tune.rules.hand", "[low, high]"),
    ({"tune": {"deck.a.copies": ["x", 2]}}, "tune.deck.a.copies", "[low, high]"),
    ({"tune": {"deck.tier:nrve.copies": [1, 2]}}, "tune.deck.tier:nrve.copies", "tier:nerve"),
]


@pytest.mark.parametrize(("tables", "key", "text"), BAD_TABLES)
def test_a_bad_table_is_an_error_at_its_key(
    make_game: Any, small: dict[str, Any], tables: dict[str, Any], key: str, text: str
) -> None:
    game = make_game(small, **tables)

    found = [fault for fault in game.faults if fault.place.column == key]
    assert [fault.level for fault in found] == ["error"]
    assert text in found[0].message


BAD_DECKS = [
    ([("q",)], "error", 2, "card", "'q' is no card. Nearest: "),
    ([("a",), ("a",)], "error", 3, "card", "'a' stands in row 2 already"),
    ([("a", 401)], "error", 2, "copies", "from 0 to 400"),
    ([("a", None, "2 3")], "error", 2, "points", "Only target cards have points"),
    ([("ma", None, "3 2")], "warning", 2, "points", "fall"),
    ([("ma", None, "", "gift")], "error", 2, "bonus", "'gift' is no bonus"),
    ([("a", 200), ("b", 200)], "error", None, None, "406 part cards. At most 400"),
    ([("ma", 0), ("mb", 0)], "error", None, "rules.targets", "no target is left"),
]


@pytest.mark.parametrize(("deck", "level", "row", "column", "text"), BAD_DECKS)
def test_a_bad_deck_has_its_fault_at_its_row(
    make_game: Any,
    small: dict[str, Any],
    deck: list[tuple[Any, ...]],
    level: str,
    row: int | None,
    column: str | None,
    text: str,
) -> None:
    game = make_game(small, deck)

    found = [fault for fault in game.faults if text in fault.message]
    assert [(fault.level, fault.place.row, fault.place.column) for fault in found] == [
        (level, row, column)
    ]


def test_a_bonus_on_a_card_that_carries_none_is_an_error(
    make_game: Any, small: dict[str, Any]
) -> None:
    game = make_game(small, [("a", None, "", "gift")], bonus=[{"id": "gift"}])

    assert "bonuses.printed_on names other cards" in game.faults[0].message


def test_all_faults_are_found_in_one_run_and_good_keys_are_kept(make_game: Any) -> None:
    game = make_game({"hand": 99, "display": -1, "draw_count": 2, "oops": 1})

    keys = {fault.place.column for fault in game.faults if fault.level == "error"}
    assert {"rules.hand", "rules.display", "rules.oops"} <= keys
    assert (game.rules.draw_count, game.rules.hand.at(2)) == (2, 4)


def test_too_few_cards_for_the_most_players_is_an_error(make_game: Any) -> None:
    # 5 structures x 2 copies = 10 part cards; 3 players x 3 cards + display 2 = 11.
    game = make_game(
        {"players": [2, 3], "hand": 3, "display": 2, "open_targets": 2, "end": "claims: 1"}
    )

    found = [fault for fault in game.faults if fault.code == "too-few-parts"]
    assert len(found) == 1
    assert "with 3 players 11 part cards" in found[0].message
    assert "the deck has 10" in found[0].message


def test_a_left_out_card_is_a_warning(make_game: Any, small: dict[str, Any]) -> None:
    game = make_game({**small, "tiers": ["root", "nerve"]}, [("t", 3), ("wild:trunk", 1)])

    found = [fault for fault in game.faults if fault.code == "card-left-out"]
    assert [fault.place.row for fault in found] == [2, 3]
    assert {fault.level for fault in found} == {"warning"}


def test_origins_must_be_in_the_deck_if_claims_need_one(
    make_game: Any, small: dict[str, Any]
) -> None:
    game = make_game({**small, "tiers": ["trunk", "nerve"], "claim_needs": ["origin"]})

    errors = [fault.code for fault in game.faults if fault.level == "error"]
    assert "origins-left-out" in errors


def test_a_table_that_the_reader_told_of_is_not_told_again(tmp_path: Path) -> None:
    (tmp_path / "game.toml").write_text('title = "T"\nrules = 3\n[map]\nname = "gut"\n')

    game = read_game(read_folder(tmp_path))
    assert [fault.code for fault in game.faults if fault.place.column == "rules"] == ["key-kind"]


def test_the_bundled_keys_alone_give_a_game_without_errors(
    make_game: Any, small: dict[str, Any]
) -> None:
    assert make_game(small).ok


def test_a_goal_that_needs_what_the_engine_does_not_play_is_told_and_stops_nothing(
    make_game: Any, small: dict[str, Any], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(capabilities, "NOT_PLAYED", frozenset({"knowledge"}))

    game = make_game(small, goals={"knowledge_edge": [0.1, 0.4]})

    (found,) = [fault for fault in game.faults if fault.code == "not-played-yet"]
    assert found.level == "warning"
    assert found.place.column == "goals.knowledge_edge"
