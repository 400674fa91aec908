"""The roots that reach each named nerve of the leg map against published root values.

Source of the expected values: data/leg-nerve-values.csv (each row names its source).
"""

from collections import defaultdict

# Nerves that differ from every published value at hand: why.
EXCEPTIONS = {
    "medial-plantar-nerve": "S2 S3 is read off muscle tables; S1 is needed for abductor "
    "hallucis (S1 root in clinical tables) and L5 S1 for the skin of the medial sole",
}


def test_roots_that_reach_a_nerve_equal_a_published_value_for_95_percent_of_nerves(leg):
    allowed = defaultdict(set)
    for value in leg.nerve_values():
        allowed[value.structure].update(value.allowed)

    differing = {
        nerve for nerve, sets in allowed.items() if frozenset(leg.anatomy.reach(nerve)) not in sets
    }

    assert len(allowed) >= 26
    assert differing == set(EXCEPTIONS)
    assert len(differing) <= 0.05 * len(allowed)


def test_the_accessory_obturator_variant_brings_roots_of_its_published_value(leg, anatomy_with):
    """L3 L4 for the nerve, L3 for its branch to pectineus (Gray 1918, p. 474 and p. 954)."""
    variant = anatomy_with("leg", "accessory-obturator-nerve")
    extra = [way for way in variant.pathways("pectineus") if "femoral-nerve" not in way.structures]

    assert {way.origin for way in extra} == {"l3"}
    assert all("lumbar-anterior-division" in way.structures for way in extra)
