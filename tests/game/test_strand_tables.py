from dataclasses import replace
from itertools import product
from pathlib import Path

import hypothesis.strategies as st
import numpy as np
import pytest
from hypothesis import HealthCheck, assume, given, settings

from nervure.errors import Place
from nervure.game import WILD, Game, read_game
from nervure.game.compile import strand_design
from nervure.game.strand_tables import DeckWay, StrandDesign, strand_tables
from nervure.project.records import (
    DEFAULT_WORDS,
    DeckRow,
    Folder,
    Link,
    Map,
    Structure,
    Supply,
    Target,
    Tier,
)

HERE = Place("invented.csv", 2)


@st.composite
def tiny_games(draw) -> Game:
    """Draw a map of three or four tiers with one to three structures each, and strand rules."""
    tiers = [Tier(name, name, name, "root", HERE) for name in "abcd"[: draw(st.integers(3, 4))]]
    rows = [
        Structure(f"{tier.id}{n}", tier.id, f"{tier.id}{n}", "", "", True, "", HERE)
        for tier in tiers
        for n in range(draw(st.integers(1, 3)))
    ]
    links = []
    for place, row in enumerate(rows):
        earlier = [other.id for other in rows[:place] if other.tier <= row.tier]
        if row.tier != "a":
            starts = draw(st.lists(st.sampled_from(earlier), min_size=1, max_size=3, unique=True))
            links += [Link(s, row.id, None, 0, (), None, (), "", (), HERE) for s in starts]
    names = [row.id for row in rows]
    targets = [
        Target(f"t{n}", f"t{n}", "", "muscle", "sum", "", "", (), HERE)
        for n in range(draw(st.integers(1, 4)))
    ]
    main = draw(st.lists(st.sampled_from([n for n in names if n[0] == "a"]), unique=True))
    supplies = [
        Supply(target.id, through, None, (), None, tuple(main), None, "", (), HERE)
        for target in targets
        for through in draw(st.lists(st.sampled_from(names), min_size=1, max_size=2, unique=True))
    ]
    map_ = Map("tiny", tuple(tiers), tuple(rows), tuple(links), tuple(targets), tuple(supplies))
    deck_tiers = draw(st.lists(st.sampled_from(tiers), min_size=2, unique=True))
    chosen = sorted(tier.id for tier in deck_tiers)
    wilds = [f"wild:{tier}" for tier in draw(st.lists(st.sampled_from(chosen), unique=True))]
    wilds += ["wild:any"] if draw(st.booleans()) else []
    rules = {
        "players": (1, 1),
        "tiers": tuple(chosen),
        "hand": 1,
        "display": 0,
        "open_targets": 1,
        "end": ("rounds: 5",),
        "connect": draw(st.sampled_from(["true", "neighbours"])),
        "skip_tiers": draw(st.booleans()),
        "insert": draw(st.booleans()),
        "supply": draw(st.sampled_from(["true", "main", "last-card"])),
        "claim_needs": tuple(draw(st.sets(st.sampled_from(["last", "origin"])))),
        "claim_minimum": draw(st.integers(1, 3)),
        "claim_real": draw(st.integers(0, 2)),
        "full_strand": draw(st.sampled_from(["way", "deck"])),
    }
    deck = tuple(DeckRow(wild, 1, None, "", HERE) for wild in wilds)
    settings_ = {"rules": rules}
    folder = Folder(Path("tiny"), "Tiny", "en", map_, "folder", (), DEFAULT_WORDS, settings_, deck)
    return read_game(folder)


def _words(names, game):
    masks = [0, 0]
    for name in names:
        number = game.targets.index(name)
        masks[number // 64] |= 1 << number % 64
    return masks


@settings(
    max_examples=150,
    deadline=None,
    derandomize=True,
    database=None,
    suppress_health_check=list(HealthCheck),
)
@given(tiny_games())
def test_tables_agree_with_the_plain_definition_on_every_strand(game):
    # The plain definition, nervure.game.strands, looks at all readings one by one.
    assume(game.ok and game.targets)
    design = strand_design(game)
    tables = strand_tables(design)
    plain = game.strands
    choices = [
        (None, *plain.on_tier[tier], *([WILD] if design.has_wild[place] else []))
        for place, tier in enumerate(game.tiers)
    ]
    minimum = max(1, game.rules.claim_minimum)

    for slots in product(*choices):
        digits = [
            0 if slot is None else len(on) + 1 if slot == WILD else on.index(slot) + 1
            for slot, on in zip(slots, plain.on_tier.values(), strict=True)
        ]
        number = tables.id_of(sum(d * int(p) for d, p in zip(digits, tables.places, strict=False)))
        cards = sum(slot is not None for slot in slots)
        if cards == 0:
            continue
        assert (number >= 0) == plain.joined(slots), slots
        if number >= 0 and cards >= minimum:
            assert tables.claims[number].tolist() == _words(plain.claims(slots), game), slots
            assert tables.full[number].tolist() == _words(plain.full(slots), game), slots


@pytest.fixture
def branch() -> StrandDesign:
    """Two origins 0 1, two trunks 2 3, two branches 4 5; ways 0-2-4 to target 0, 1-3-5 to 1."""
    return StrandDesign(
        sizes=(2, 2, 2),
        targets=2,
        ways=(DeckWay(0, True, (0, 2, 4)), DeckWay(1, True, (1, 3, 5))),
        origins=frozenset({0, 1}),
    )


def test_a_card_goes_to_the_ends_of_a_strand_only(branch):
    # Strand 0-4: code 1 + 0*4 + 1*16 = 17 (places 1, 4, 16). Card 2 would go between.
    tables = strand_tables(branch)

    assert tables.id_of(17) >= 0
    assert int(tables.attach[tables.id_of(17)]) == 0


def test_a_card_goes_between_where_insert_allows(branch):
    tables = strand_tables(replace(branch, insert=True))

    assert int(tables.attach[tables.id_of(17)]) == 1 << 2


def test_claims_are_seen_one_card_ahead(branch):
    # Structure 0 alone (code 1) claims nothing; with 4 it claims target 0.
    tables = strand_tables(branch)
    alone = tables.id_of(1)

    assert tables.claims[alone].tolist() == [0, 0]
    assert tables.claims_within[0, alone].tolist() == [1, 0]
    assert tables.full_within[0, alone].tolist() == [0, 0]
    assert tables.full_within[1, alone].tolist() == [1, 0]


def test_dense_ids_rise_with_the_codes(branch):
    tables = strand_tables(branch)

    assert np.all(np.diff(tables.codes) > 0)
    assert [tables.id_of(int(code)) for code in tables.codes] == list(range(len(tables)))
