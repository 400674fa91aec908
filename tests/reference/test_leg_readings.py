"""The muscles of the leg map against what published sources say of their roots.

Source of the expected values: data/leg-readings.csv (each row names its source; the
citations stand in src/nervure/maps/leg/sources.csv). Textbooks agree with one another to
about four fifths, so full agreement with all of them is out of reach for any map.
"""

from collections import defaultdict
from statistics import mean

from nervure.project import read_bundled_map

# Muscles whose roots, as asserted, stand in no looked-up source: why.
ONLY_FROM_MEMORY: dict[str, str] = {
    "abductor-hallucis": "sources are split into S1 S2 and S2 S3; both are taken",
    "adductor-magnus-hamstring-part": "one learners' table gives the whole sciatic nerve; L4 "
    "alone is the common teaching and is marked from memory",
}


def overlap(one: frozenset[str], other: frozenset[str]) -> float:
    """Jaccard index: fibres that both name, of those that either names."""
    return len(one & other) / len(one | other)


def test_roots_of_a_muscle_that_two_looked_up_authorities_state_equal_one_of_its_readings(leg):
    readings = defaultdict(list)
    for reading in leg.readings():
        if reading.fibres:
            readings[reading.target].append(reading)
    judged = {
        target: rows
        for target, rows in readings.items()
        if len({row.authority for row in rows if row.looked_up}) >= 2
    }

    strangers = {
        target: leg.anatomy.fibres_of(target)
        for target, rows in judged.items()
        if frozenset(leg.anatomy.fibres_of(target)) not in {row.fibres for row in rows}
    }

    assert len(judged) >= 40
    assert strangers == {}


def test_roots_asserted_stand_in_a_looked_up_source_save_where_said(leg):
    looked_up = defaultdict(set)
    for reading in leg.readings():
        if reading.looked_up and reading.fibres:
            looked_up[reading.target].add(reading.fibres)

    others = {
        target
        for target, sets in looked_up.items()
        if frozenset(leg.anatomy.fibres_of(target)) not in sets
    }

    assert others == set(ONLY_FROM_MEMORY)


def test_mean_overlap_with_all_readings_is_at_least_0_82(leg):
    overlaps = defaultdict(list)
    for reading in leg.readings():
        if reading.fibres:
            asserted = frozenset(leg.anatomy.fibres_of(reading.target))
            overlaps[reading.target].append(overlap(asserted, reading.fibres))

    assert len(overlaps) >= 50
    assert mean(mean(values) for values in overlaps.values()) >= 0.82
    assert mean(value for values in overlaps.values() for value in values) >= 0.82


def test_mean_overlap_with_looked_up_readings_alone_is_at_least_0_82(leg):
    overlaps = [
        overlap(frozenset(leg.anatomy.fibres_of(reading.target)), reading.fibres)
        for reading in leg.readings()
        if reading.fibres and reading.looked_up
    ]

    assert len(overlaps) >= 150
    assert mean(overlaps) >= 0.82


def test_a_main_root_is_named_as_main_by_a_source_or_by_none_otherwise(leg):
    """Where sources name main roots, the map's main roots are among those named."""
    named = defaultdict(set)
    for reading in leg.readings():
        if reading.main_fibres:
            named[reading.target] |= reading.main_fibres

    strangers = {
        supply.target
        for supply in leg.anatomy.supplies
        if supply.main_fibres
        and named[supply.target]
        and not set(supply.main_fibres) <= named[supply.target]
    }

    assert strangers == set()


def test_every_muscle_of_the_readings_is_supplied_through_the_nerve_that_most_of_them_name(leg):
    """Each reading that names nerves is counted by the first words of their names.

    A part of the sciatic nerve is often called by the nerve that it becomes.
    """
    words = {
        "ventral": "nerve-to-psoas",
        "femoral": "femoral-nerve",
        "obturator": "obturator-nerve",
        "superior": "superior-gluteal-nerve",
        "inferior": "inferior-gluteal-nerve",
        "sciatic": "sciatic-nerve",
        "tibial": "sacral-anterior-division",
        "common": "sacral-posterior-division",
        "deep": "deep-fibular-nerve",
        "superficial": "superficial-fibular-nerve",
        "medial": "medial-plantar-nerve",
        "lateral": "lateral-plantar-nerve",
    }
    agree = defaultdict(list)
    for reading in leg.readings():
        named = {part.split()[0] for part in reading.nerve.split(";") if part.strip()}
        if named & set(words) and reading.target != "piriformis":
            passed = {
                name for way in leg.anatomy.pathways(reading.target) for name in way.structures
            }
            agree[reading.target].append(any(words.get(word) in passed for word in named))

    assert len(agree) >= 45
    assert [target for target, values in agree.items() if mean(values) <= 0.5] == []


def test_readings_of_the_map_are_the_published_ones(leg):
    """src/nervure/maps/leg/readings.csv says what data/leg-readings.csv says, row for row."""
    published = {
        (row.target, row.source): (row.fibres or frozenset(), row.main_fibres or frozenset())
        for row in leg.readings()
    }

    of_map = {
        (row.target, row.source): (
            frozenset(row.fibres or ()),
            frozenset(row.main_fibres or ()),
        )
        for row in read_bundled_map("leg").readings
    }

    assert of_map == published
