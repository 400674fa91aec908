"""Every rule has a sentence, in the map's own words, and none is left unfilled."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest

from nervure.game import Rules, bonus_sentence, read_game, sentences

# Rules under which every key has something to say.
ALL: dict[str, Any] = {
    "seat_cards": [0, 1],
    "secret_targets": 1,
    "draws": ["stock", "display", "swap", "take-loose", "lift"],
    "may_pass": "always",
}
BONUSES = [
    {"id": "once", "does": ["draw 2", "play 1", "exchange-open", "take-any-loose", "move-end"]},
    {"id": "score", "does": ["points 3"]},
    {
        "id": "last",
        "when": "lasting",
        "does": ["guard-loose", "hand 1", "short-claim 1", "points 2 muscle"],
    },
    {"id": "reply", "when": "reply", "does": ["cancel-take"]},
]


def said(game: Any) -> dict[str, str]:
    return dict(sentences(game))


def test_every_key_of_the_rules_has_a_sentence(make_game: Any, small: dict[str, Any]) -> None:
    game = make_game({**small, **ALL}, [("wild:any", 1)])

    assert {f"rules.{name}" for name in Rules.model_fields} <= set(said(game))


CHOICES = [
    (name, value)
    for name, values in {
        "connect": ["true", "neighbours"],
        "supply": ["true", "main", "last-card"],
        "full_strand": ["way", "deck"],
        "join": ["any-time", "instead-of-play"],
        "claim": ["any-time", "instead-of-play"],
        "may_pass": ["never", "stock-empty", "always"],
        "swapped_go": ["pile", "under"],
        "parts_show": ["nothing", "links", "links-and-targets"],
        "targets_show": ["nothing", "origins", "way", "pathways"],
        "must_play": [True, False],
        "skip_tiers": [True, False],
        "insert": [True, False],
        "refill": [True, False],
        "claim_needs": [[], ["last"], ["origin"], ["last", "origin"]],
        "draws": [[], ["stock"], ["display", "lift"]],
        "display": [0, 1, {"2": 1, "3": 2}],
        "open_targets": [0, 1],
        "end": ["stock-empty", "rounds: 3", "clock: 20", "points: 5", ["all-passed", "claims: 2"]],
        "tie_breaks": [[], ["claims", "target:ma", "last-seat"], ["full-strands"]],
        "draw_count": [1, 2, 3],
        "claim_minimum": [1, 2],
    }.items()
    for value in values
]


@pytest.mark.parametrize("name", sorted({name for name, _ in CHOICES}))
def test_every_value_of_a_key_has_a_sentence_of_its_own(
    make_game: Any, small: dict[str, Any], name: str
) -> None:
    values = [value for key, value in CHOICES if key == name]
    rules = {**small, "players": [2, 3], "draws": ["swap"]}
    texts = [said(make_game({**rules, name: value}))[f"rules.{name}"] for value in values]

    assert len(set(texts)) == len(values)


@pytest.mark.parametrize(("name", "value"), CHOICES)
def test_sentences_are_whole(
    make_game: Any, small: dict[str, Any], name: str, value: object
) -> None:
    for _, text in sentences(make_game({**small, name: value}, [("wild:root", 1)])):
        assert text[0].isupper() or text[0].isdigit()
        assert text.endswith(".")
        assert "{" not in text


def test_values_by_number_of_players_are_said_for_each(
    make_game: Any, small: dict[str, Any]
) -> None:
    game = make_game({**small, "players": [2, 4], "hand": {"2": 5, "4": 1}})

    assert (
        "5 part cards with 2 or 3 players and 1 part card with 4 players"
        in (said(game)["rules.hand"])
    )


def test_what_cannot_come_up_is_not_said(make_game: Any, small: dict[str, Any]) -> None:
    keys = set(said(make_game({**small, "draws": ["stock"]})))

    assert keys.isdisjoint(
        {"rules.late_lifts", "rules.swapped_go", "rules.seat_cards", "wild", "variant"}
    )


def test_own_words_of_the_map_are_used(make_game: Any, small: dict[str, Any]) -> None:
    folder = make_game({**small, "claim_needs": ["origin"]}).folder
    own = {**folder.words, "origin": "source", "fibres": "flow"}
    texts = said(read_game(replace(folder, words=own)))

    assert "one of the sources" in texts["rules.claim_needs"]
    assert "flow" in texts["rules.connect"]
    assert not any("origin" in text or "fibre" in text for text in texts.values())


def test_every_effect_of_a_bonus_is_said(make_game: Any, small: dict[str, Any]) -> None:
    game = make_game(small, bonus=BONUSES)

    assert bonus_sentence(game, game.bonus("last")) == (
        "From then on: your loose cards cannot be taken, then your hand limit is higher by 1, "
        "then claims need fewer cards, by 1, never less than one card, then score 2 for each "
        "further claim of this kind: muscles."
    )
    assert all(bonus_sentence(game, bonus).endswith(".") for bonus in game.bonuses)


def test_the_authors_own_words_stand_before_the_derived_ones(
    make_game: Any, small: dict[str, Any]
) -> None:
    game = make_game(small, bonus=[{"id": "gift", "says": "A spare string turns up."}])

    assert said(game)["bonus.gift"] == "A spare string turns up."
