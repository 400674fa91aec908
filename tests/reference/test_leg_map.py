"""The leg map as it is bundled: complete, and without faults."""

from collections import Counter

from nervure.anatomy import cut, map_faults
from nervure.project import read_bundled_map

CARD_SHORT = 6
TEST_LINE = 110


def test_the_map_has_neither_errors_nor_doubts():
    """Every row that asserts anatomy has at least one source that was looked up."""
    faults = map_faults(read_bundled_map("leg"))

    assert [fault.message for fault in faults] == []


def test_the_map_keeps_within_what_a_deck_can_hold():
    leg = read_bundled_map("leg")

    assert len(leg.structures) <= 52
    assert len(leg.tiers) <= 6
    assert len(leg.targets) <= 128
    assert all(len(structure.short) <= CARD_SHORT for structure in leg.structures)
    shorts = Counter(structure.short for structure in leg.structures)
    assert max(shorts.values()) == 1


def test_the_map_covers_the_limb():
    kinds = Counter(target.kind for target in read_bundled_map("leg").targets)

    assert kinds["muscle"] >= 52
    assert kinds["skin"] >= 14
    assert kinds["reflex"] == 5
    assert kinds["potential"] == 3


def test_every_target_says_how_it_is_examined_in_one_short_line():
    lines = {target.id: target.test for target in read_bundled_map("leg").targets}

    assert [name for name, line in lines.items() if not 10 <= len(line) <= TEST_LINE] == []


def test_every_muscle_save_those_of_the_back_can_be_claimed_with_a_strand_of_two_or_more(leg):
    anatomy = leg.anatomy
    short = {
        target.id
        for target in anatomy.map.targets
        if target.kind == "muscle"
        and max(len(way.structures) for way in anatomy.pathways(target.id)) < 2
    }

    assert short == {f"multifidus-{root}" for root in ("l2", "l3", "l4", "l5", "s1")}


def test_no_way_passes_two_structures_of_one_tier(leg):
    """So that the whole way of every target can lie on the table as one strand."""
    for way in leg.anatomy.all_pathways:
        tiers = [leg.anatomy.tier_of(name) for name in way.structures]
        assert len(tiers) == len(set(tiers)), way


def test_every_named_lesion_takes_something(leg):
    assert len(leg.anatomy.map.lesions) >= 25
    for lesion in leg.anatomy.map.lesions:
        assert cut(leg.anatomy, lesion.id).affected, lesion.id
