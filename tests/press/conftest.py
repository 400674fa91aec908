"""A small deck made by hand (invented parts of a puppet), and a printed one for all tests."""

from dataclasses import replace

import pytest

from nervure.press.cards import (
    BonusText,
    Deck,
    DeckTier,
    DrawnNode,
    DrawnVein,
    Entry,
    MapDrawing,
    PartCard,
    TargetCard,
    VariantCard,
    WildCard,
)
from nervure.press.deck import print_deck

TIERS = (
    DeckTier("peg", "Peg", "root"),
    DeckTier("cord", "Cord", "cord"),
    DeckTier("string", "String", "branch"),
)
NAMES = {
    "p1": ("First peg", "P1", "peg"),
    "p2": ("Second peg", "P2", "peg"),
    "hip-cord": ("Cord of the hip", "HipC", "cord"),
    "knee-string": ("Knee string", "Knee", "string"),
    "toe-string": ("Long string of the great toe", "Toe", "string"),
}
LINKS = [
    ("p1", "hip-cord"),
    ("p2", "hip-cord"),
    ("hip-cord", "knee-string"),
    ("hip-cord", "toe-string"),
]
COLUMN = {"peg": 0.0, "cord": 0.5, "string": 1.0}
HEIGHT = {"p1": 0.25, "p2": 0.75, "hip-cord": 0.5, "knee-string": 0.25, "toe-string": 0.75}


def entry(name):
    _, short, tier = NAMES[name]
    mark = next(one.mark for one in TIERS if one.id == tier)
    return Entry(name, tier, f"tier-{mark}", short)


def drawing():
    place = {name: (COLUMN[NAMES[name][2]], HEIGHT[name]) for name in NAMES}
    nodes = tuple(DrawnNode(name, NAMES[name][2], place[name]) for name in NAMES)
    veins = tuple(DrawnVein(a, b, 1, (place[a], place[b])) for a, b in LINKS)
    return MapDrawing(nodes, veins)


def part(name, proximal=(), distal=(), **more):
    title, short, tier = NAMES[name]
    return PartCard(
        name,
        title,
        short,
        tier,
        2,
        tuple(entry(one) for one in proximal),
        tuple(entry(one) for one in distal),
        **more,
    )


def make_target(name="heel", title="Heel", **more):
    values = {
        "short": "Heel",
        "kind": "muscle",
        "examined": "Pull the string gently: the heel lifts.",
        "copies": 1,
        "points": (1, 3),
        "first_rung": 2,
        "reached": ("p1", "p2"),
        "main": ("p1",),
        "way": (entry("knee-string"),),
        "lit": (0, 1, 2),
        "ends": ("knee-string",),
    }
    return TargetCard(name, title, **(values | more))


@pytest.fixture(scope="session")
def small_deck():
    """Five parts, two wild cards, a variant card and two targets."""
    cards = (
        part("p1", (), ("hip-cord", "knee-string", "toe-string"), reached=("p1",), main=("p1",)),
        part("p2", (), ("hip-cord", "toe-string"), reached=("p2",), near=(1, 3)),
        part(
            "hip-cord",
            ("p1", "p2"),
            ("knee-string", "toe-string"),
            reached=("p1", "p2"),
            main=("p1",),
            near=(0, 1, 2, 3),
            bonus=BonusText("bonus, one-time", "A spare peg turns up: draw two cards."),
        ),
        part("knee-string", ("p1", "hip-cord"), (), reached=("p1",)),
        part("toe-string", ("p1", "p2", "hip-cord"), (), reached=("p1", "p2")),
        WildCard("wild:string", ("string",), 1),
        WildCard("wild:any", ("peg", "cord", "string"), 1),
        VariantCard("variant", 1),
        make_target(),
        make_target(
            "toe",
            "Great toe of the marionette, outer side",
            short="GrToe",
            kind="skin",
            bonus=BonusText("bonus, reply", "A knot held in the teeth: your loose cards stay."),
        ),
    )
    return Deck(
        title="Puppet",
        version="0123abcd",
        language="en",
        tiers=TIERS,
        origins={"p1": "P1", "p2": "P2"},
        cards=cards,
        drawing=drawing(),
    )


@pytest.fixture(scope="session")
def change_card(small_deck):
    """Give the small deck with one card replaced by a changed one."""

    def changed(name, /, **values):
        cards = tuple(
            replace(card, **values) if card.id == name else card for card in small_deck.cards
        )
        return replace(small_deck, cards=cards)

    return changed


@pytest.fixture(scope="session")
def printed(small_deck, tmp_path_factory):
    """Print the small deck once: result and folder."""
    folder = tmp_path_factory.mktemp("print")
    what = ("cards", "backs", "sheets", "contact", "previews")
    return print_deck(small_deck, folder, what, dots_per_inch=100)


@pytest.fixture(scope="session")
def printed_path(printed):
    """Give the path of a printed file by its name."""
    return {file.path.name: file.path for file in printed.files}
