"""What does not fit is refused by card and field; nothing else is held back."""

from dataclasses import replace

import pytest

from nervure.press.cards import BonusText, Entry
from nervure.press.setting import set_deck

LONG_WORD = "Donaudampfschifffahrtsgesellschaft"


def refusals(setting):
    return [(one.card, one.field) for one in setting.refused]


def data_of(setting, name):
    return next(data for data in setting.data if data["id"] == name)


def test_a_deck_that_fits_is_set_whole(small_deck):
    setting = set_deck(small_deck)

    assert setting.refused == ()
    assert [card.id for card in setting.cards] == [card.id for card in small_deck.cards]


@pytest.mark.parametrize(
    ("card", "field", "values"),
    [
        ("hip-cord", "name", {"name": f"{LONG_WORD}{LONG_WORD}"}),
        ("hip-cord", "name", {"name": "cord " * 80}),
        ("hip-cord", "short", {"short": "Hipcords"}),
        ("hip-cord", "bonus", {"bonus": BonusText("bonus, reply", "Draw a card. " * 20)}),
        ("heel", "name", {"name": "heel " * 80}),
        ("heel", "short", {"short": "Heelheel"}),
        ("heel", "examined", {"examined": "Pull the string gently. " * 20}),
        ("heel", "bonus", {"bonus": BonusText("bonus, reply", "Draw a card. " * 20)}),
        ("heel", "points", {"points": (1, 123456789)}),
        ("heel", "name", {"name": "Heel 漢"}),
        ("hip-cord", "name", {"name": "Cord 漢"}),
        ("hip-cord", "short", {"short": "漢"}),
        ("heel", "examined", {"examined": "Pull 漢 gently."}),
    ],
)
def test_what_does_not_fit_is_refused_by_card_and_field(change_card, card, field, values):
    setting = set_deck(change_card(card, **values))

    assert refusals(setting) == [(card, field)]
    assert card not in [one.id for one in setting.cards]
    assert len(setting.cards) == 9


def test_all_refusals_stand_in_one_list(change_card, small_deck):
    deck = change_card("heel", short="Heelheel", examined="Pull the string gently. " * 20)
    cards = tuple(
        replace(card, short="Hipcords") if card.id == "hip-cord" else card for card in deck.cards
    )

    setting = set_deck(replace(deck, cards=cards))

    assert sorted(refusals(setting)) == [
        ("heel", "examined"),
        ("heel", "short"),
        ("hip-cord", "short"),
    ]


def test_a_missing_glyph_is_named_with_its_code_point(change_card):
    (refusal,) = set_deck(change_card("heel", name="Heel 漢")).refused

    assert "'漢' (U+6F22)" in refusal.reason


def test_a_tier_name_that_reaches_the_nodes_is_refused(small_deck):
    tiers = tuple(
        replace(tier, name="Cord of many twisted strings") if tier.id == "cord" else tier
        for tier in small_deck.tiers
    )

    setting = set_deck(replace(small_deck, tiers=tiers))

    assert refusals(setting) == [("hip-cord", "tier")]


def test_a_longer_target_name_takes_room_before_its_size_falls_below_10(change_card):
    name = "Great toe of the marionette, its outer side"

    data = data_of(set_deck(change_card("heel", name=name)), "heel")

    assert data["name"]["size"] >= 10
    assert data["examined_top"] > data_of(set_deck(change_card("heel")), "heel")["examined_top"]


def test_text_never_reaches_the_rule_below_it(small_deck):
    for data in set_deck(small_deck).data:
        if data["type"] == "target":
            assert data["examined_top"] + data["examined"]["height"] < data["note_top"] - 1.2


def test_close_rows_are_noted(change_card):
    many = tuple(Entry(f"s{n}", "string", "tier-branch", "Abcdef") for n in range(17))

    setting = set_deck(change_card("hip-cord", distal=many))

    assert any(note.startswith("hip-cord:") and "5.5 pt" in note for note in setting.notes)


def test_grouped_connections_are_noted_and_listed_for_the_key(change_card):
    many = tuple(Entry(f"s{n}", "string", "tier-branch", "Abcdef") for n in range(40))

    setting = set_deck(change_card("hip-cord", distal=many))

    assert setting.grouped["hip-cord"] == tuple(f"s{n}" for n in range(40))
    assert any("'+ 40'" in note for note in setting.notes)


def test_a_title_with_no_room_is_left_out_and_said(small_deck):
    deck = replace(small_deck, title="The restringing of the leg of the life-size marionette")

    setting = set_deck(deck)

    assert {data["title"] for data in setting.data} == {""}
    assert any(deck.title in note for note in setting.notes)


def test_a_card_too_small_for_its_parts_is_refused_with_the_least_size(small_deck):
    setting = set_deck(replace(small_deck, width=44.0, height=68.0))

    assert {one.field for one in setting.refused} == {"size"}
    assert len(setting.refused) == len(small_deck.cards)
    assert "54.0 × 84.0" in setting.refused[0].reason


@pytest.mark.parametrize("size", [(57.0, 89.0), (70.0, 120.0), (63.5, 88.9)])
def test_other_card_sizes_are_set(small_deck, size):
    setting = set_deck(replace(small_deck, width=size[0], height=size[1]))

    assert setting.refused == ()


def test_many_origins_are_named_on_two_lines_and_too_many_refused(small_deck):
    def with_origins(count):
        origins = {"p1": "P1", "p2": "P2"} | {f"o{n}": f"Or{n}" for n in range(count - 2)}
        return set_deck(replace(small_deck, origins=origins))

    assert data_of(with_origins(14), "p1")["stagger"]
    assert ("p1", "fibres") in refusals(with_origins(40))


def test_the_words_of_the_map_are_used(small_deck):
    deck = replace(small_deck, words={"fibre": "flow", "fibres": "flow", "origin": "source"})

    data = data_of(set_deck(deck), "heel")

    assert data["note_label"] == "flow"
    assert data["fibres_alt"].startswith("Flow: ")
