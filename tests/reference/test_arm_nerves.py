"""The arm map's nerves beside published root values, and the cords that fibres take."""

from collections import defaultdict

import pytest

from nervure.anatomy import build
from nervure.project import read_bundled_map

# The one nerve that equals no published value: sources give C7 C8 and C8 T1 to this
# branch of the ulnar nerve; the map has what both share, C8, the dermatome of its skin.
NERVE_EXCEPTIONS = {"dorsal-ulnar"}

# By hand: C6 and C7 fibres reach the median nerve through the lateral root (Gray 1918,
# Fisch 2012: C6 C7), C8 and T1 through the medial root (C8 T1); so a muscle's roots settle
# the cord. Thenar muscles, lumbricals and long flexors of C8 T1 take the medial cord alone.
CORDS_OF_MEDIAN_MUSCLES = {
    "pronator-teres": {"lateral-cord"},
    "flexor-carpi-radialis": {"lateral-cord"},
    "palmaris-longus": {"lateral-cord", "medial-cord"},
    "flexor-digitorum-superficialis": {"lateral-cord", "medial-cord"},
    "flexor-digitorum-profundus-lateral": {"medial-cord"},
    "flexor-pollicis-longus": {"medial-cord"},
    "pronator-quadratus": {"lateral-cord", "medial-cord"},
    "abductor-pollicis-brevis": {"medial-cord"},
    "opponens-pollicis": {"medial-cord"},
    "flexor-pollicis-brevis": {"medial-cord"},
    "lumbricals-1-2": {"medial-cord"},
}


def reach(arm, place: str) -> frozenset[str]:
    start, arrow, end = place.partition(">")
    if not arrow:
        return frozenset(arm.anatomy.reach(place))
    links = [link for link in arm.anatomy.links if (link.start, link.end) == (start, end)]
    return frozenset().union(*(arm.anatomy.carried(link) for link in links))


def test_roots_of_nerves_equal_a_published_value_for_at_least_95_percent(arm):
    allowed = defaultdict(list)
    for value in arm.nerve_values():
        allowed[value.structure] += value.allowed
    differing = {place for place in allowed if reach(arm, place) not in allowed[place]}

    assert len(allowed) == 25
    assert differing == NERVE_EXCEPTIONS
    assert 1 - len(differing) / len(allowed) >= 0.95


@pytest.mark.parametrize("target", CORDS_OF_MEDIAN_MUSCLES)
def test_median_muscle_is_reached_through_the_cords_of_its_roots(arm, target):
    cords = {
        name
        for pathway in arm.anatomy.pathways(target)
        if "median" in pathway.structures
        for name in pathway.structures
        if arm.anatomy.tier_of(name) == "cord"
    }

    assert cords == CORDS_OF_MEDIAN_MUSCLES[target]


def test_the_drawing_joins_medial_cord_to_pronator_teres_and_no_fibre_goes_there(arm):
    assert arm.anatomy.is_true(("medial-cord", "median"))
    assert not arm.anatomy.supplies_target(("medial-cord", "median"), "pronator-teres")
    assert not arm.anatomy.supplies_target(
        ("lateral-cord", "median", "recurrent-median"), "abductor-pollicis-brevis"
    )


# Gray 1918 and the laboratory text: every trunk sends a posterior division to the posterior
# cord; T1 is left out of it, as no muscle of the radial nerve gets T1 in looked-up sources.
def test_posterior_cord_gets_all_posterior_divisions_without_t1(arm):
    enters = {link.start for link in arm.anatomy.links if link.end == "posterior-cord"}

    assert enters == {"posterior-upper", "posterior-middle", "posterior-lower"}
    assert arm.anatomy.reach("posterior-cord") == ("c5", "c6", "c7", "c8")


def test_c7_fibres_of_the_ulnar_nerve_come_by_the_lateral_cord_to_one_muscle(arm):
    # Kim 2010: C7 lesions denervate flexor carpi ulnaris; Hur 2013: C7 in all 50 ulnar nerves.
    taken = {
        pathway.target
        for pathway in arm.anatomy.all_pathways
        if pathway.origin == "c7" and "ulnar" in pathway.structures
    }

    assert taken == {"flexor-carpi-ulnaris"}


def test_c4_and_t2_join_the_plexus_in_their_variants_only():
    map_ = read_bundled_map("arm")
    plain, prefixed, postfixed = (build(map_, v) for v in ((), ("prefixed",), ("postfixed",)))

    assert plain.reach("upper-trunk") == ("c5", "c6")
    assert prefixed.reach("suprascapular") == ("c4", "c5", "c6")
    assert plain.reach("lower-trunk") == ("c8", "t1")
    assert postfixed.reach("ulnar") == ("c7", "c8", "t1", "t2")


def test_every_origin_has_a_use_on_the_standard_map(arm):
    used = {pathway.origin for pathway in arm.anatomy.all_pathways}

    assert used == set(arm.anatomy.origins)
