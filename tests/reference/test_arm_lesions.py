"""Published patterns of arm lesions, and the near misses that teach localisation.

Patterns: tests/reference/data/arm-lesion-patterns.csv. What is weak must lose supply by the
cut, what is spared must lose nothing. The near misses follow the usual teaching of
electrodiagnosis (sources beside each); what they compare was not taken from the map.
"""

import pytest

from nervure.anatomy import build, cut, localize
from nervure.project import read_bundled_map

# Statements that the map contradicts, with the reason.
PATTERN_EXCEPTIONS = {
    ("C6 root", "asj2020-table3", "extensor-carpi-radialis-brevis"): (
        "the source states wrist extension; the long radial extensor loses C6"
    ),
    ("C6 root", "asj2020-table3", "extensor-carpi-ulnaris"): (
        "the source states wrist extension; the long radial extensor loses C6"
    ),
    ("C6 root (MRI proven)", "furukawa2021", "extensor-carpi-radialis-brevis"): (
        "root tables give C7 C8; the disagreement is told in docs/map-arm.md"
    ),
}


def test_published_patterns_hold_for_at_least_95_percent_of_their_statements(arm):
    contradicted, statements = set(), 0
    for pattern in arm.patterns():
        shares = cut(arm.anatomy, pattern.cut).shares
        weak = [(target, shares[target] > 0) for target in pattern.affected]
        spared = [(target, shares[target] == 0) for target in pattern.spared]
        statements += len(weak) + len(spared)
        contradicted |= {
            (pattern.site, pattern.source, target) for target, holds in weak + spared if not holds
        }

    assert contradicted == set(PATTERN_EXCEPTIONS)
    assert statements >= 300
    assert 1 - len(contradicted) / statements >= 0.95


def words_of(arm, sites, *targets: str) -> list[str]:
    found = cut(arm.anatomy, sites).words
    return [found[target] for target in targets]


def best_of(anatomy, affected, spared) -> set[str]:
    return set(localize(anatomy, affected, spared).groups[0].sites)


# Wrist drop: three places (JNNP table; Medscape; HSS J 2012; Asian Spine J 2020).
def test_spiral_groove_spares_triceps_and_takes_brachioradialis_and_the_radial_potential(arm):
    found = words_of(
        arm,
        "radial-spiral-groove-lesion",
        "triceps-brachii",
        "reflex-triceps",
        "brachioradialis",
        "extensor-digitorum",
        "potential-radial",
    )

    assert found == ["spared", "spared", "all", "all", "all"]


def test_posterior_interosseous_spares_radial_wrist_extensor_and_potential(arm):
    found = words_of(
        arm,
        "posterior-interosseous-lesion",
        "brachioradialis",
        "extensor-carpi-radialis-longus",
        "potential-radial",
        "extensor-digitorum",
        "extensor-pollicis-longus",
    )

    assert found == ["spared", "spared", "spared", "all", "all"]


def test_c7_root_weakens_triceps_and_a_median_muscle_and_keeps_the_radial_potential(arm):
    taken = cut(arm.anatomy, "c7-root")

    for target in ("triceps-brachii", "flexor-carpi-radialis", "extensor-digitorum"):
        assert taken.shares[target] > 0, target
    assert taken.words["paraspinals"] == "all"
    assert taken.words["potential-radial"] == "spared"
    assert taken.words["brachioradialis"] == "spared"


WRIST_DROPS = {
    "radial-spiral-groove-lesion": (
        ["brachioradialis", "extensor-digitorum", "extensor-carpi-radialis-longus"],
        ["potential-radial", "skin-first-web"],
        ["triceps-brachii", "reflex-triceps", "flexor-carpi-radialis", "paraspinals"],
    ),
    "posterior-interosseous-lesion": (
        ["extensor-digitorum", "extensor-pollicis-longus"],
        ["extensor-carpi-ulnaris"],
        ["brachioradialis", "extensor-carpi-radialis-longus", "potential-radial", "supinator"],
    ),
    "c7-root": (
        ["triceps-brachii", "flexor-carpi-radialis", "extensor-digitorum"],
        ["paraspinals", "reflex-triceps"],
        ["potential-radial", "brachioradialis", "biceps-brachii"],
    ),
}


@pytest.mark.parametrize("lesion", WRIST_DROPS)
def test_each_wrist_drop_is_found_at_its_own_place_first(arm, lesion):
    weak, more, spared = WRIST_DROPS[lesion]

    assert lesion in best_of(arm.anatomy, weak + more, spared)


# C8 and T1: roots, lower trunk, ulnar nerve (tntos2014, tntos-six-cases; Alfonso, Klumpke
# palsy; Wheeless, T1; JNNP table; Preston and Shapiro from memory).
def test_torn_c8_t1_roots_keep_the_medial_antebrachial_potential_and_change_the_pupil(arm):
    found = words_of(
        arm,
        "c8-t1-roots",
        "potential-medial-antebrachial",
        "potential-ulnar-digital",
        "pupil",
        "skin-medial-forearm",
        "paraspinals",
    )

    assert found == ["spared", "spared", "all", "all", "all"]


def test_lower_trunk_takes_the_medial_antebrachial_potential_and_spares_the_pupil(arm):
    found = words_of(
        arm,
        "lower-trunk-lesion",
        "potential-medial-antebrachial",
        "potential-ulnar-digital",
        "pupil",
        "paraspinals",
        "abductor-pollicis-brevis",
        "potential-median-digital",
    )

    assert found == ["all", "all", "spared", "spared", "all", "spared"]


def test_ulnar_elbow_spares_thenar_muscle_thumb_flexor_and_medial_forearm(arm):
    found = words_of(
        arm,
        "ulnar-elbow-lesion",
        "abductor-pollicis-brevis",
        "flexor-pollicis-longus",
        "extensor-indicis",
        "potential-medial-antebrachial",
        "dorsal-interossei",
        "potential-ulnar-digital",
    )

    assert found == ["spared", "spared", "spared", "spared", "all", "all"]


WASTED_HANDS = {
    "c8-t1-roots": (
        ["dorsal-interossei", "abductor-pollicis-brevis", "extensor-indicis"],
        ["skin-little", "skin-medial-forearm", "pupil", "paraspinals"],
        ["potential-medial-antebrachial", "potential-ulnar-digital"],
    ),
    # Extension of the index finger tells the trunk from the cord: its C8 fibres have left.
    "lower-trunk-lesion": (
        ["dorsal-interossei", "abductor-pollicis-brevis", "extensor-indicis"],
        ["potential-medial-antebrachial", "potential-ulnar-digital"],
        ["pupil", "paraspinals", "potential-median-digital"],
    ),
    "medial-cord-lesion": (
        ["dorsal-interossei", "abductor-pollicis-brevis", "pectoralis-minor"],
        ["potential-medial-antebrachial", "potential-ulnar-digital"],
        ["extensor-indicis", "pronator-teres"],
    ),
    "ulnar-elbow-lesion": (
        ["dorsal-interossei", "flexor-digitorum-profundus-medial", "flexor-carpi-ulnaris"],
        ["skin-little", "skin-dorsal-ulnar-hand"],
        ["abductor-pollicis-brevis", "flexor-pollicis-longus", "potential-medial-antebrachial"],
    ),
    "ulnar-canal-lesion": (
        ["dorsal-interossei", "abductor-digiti-minimi"],
        ["skin-little"],
        ["skin-dorsal-ulnar-hand", "flexor-digitorum-profundus-medial"],
    ),
    "deep-palmar-lesion": (
        ["dorsal-interossei", "adductor-pollicis"],
        ["lumbricals-3-4"],
        ["abductor-digiti-minimi", "skin-little", "abductor-pollicis-brevis"],
    ),
}


@pytest.mark.parametrize("lesion", WASTED_HANDS)
def test_each_wasted_hand_is_found_at_its_own_place_first(arm, lesion):
    weak, more, spared = WASTED_HANDS[lesion]

    assert lesion in best_of(arm.anatomy, weak + more, spared)


def test_apex_of_the_lung_takes_pupil_and_potential_and_spares_paraspinals(arm):
    found = words_of(
        arm, "apex-of-lung-lesion", "pupil", "potential-medial-antebrachial", "paraspinals"
    )

    assert found == ["all", "all", "spared"]


# C5 and C6: roots against upper trunk (Preston and Shapiro from memory).
def test_upper_trunk_spares_serratus_and_rhomboids_and_takes_the_lateral_potential(arm):
    targets = ("rhomboid-major", "serratus-anterior", "potential-lateral-antebrachial")

    assert words_of(arm, "upper-trunk-lesion", *targets) == ["spared", "spared", "all"]
    assert words_of(arm, "c5-c6-roots", *targets) == ["all", "most", "spared"]


# Median nerve: four heights (Fisch 2012; Hill 1985).
def test_carpal_tunnel_spares_the_thenar_palm(arm):
    found = words_of(
        arm,
        "carpal-tunnel-lesion",
        "skin-thenar-palm",
        "skin-index",
        "abductor-pollicis-brevis",
        "flexor-pollicis-longus",
    )

    assert found == ["spared", "all", "all", "spared"]


def test_anterior_interosseous_takes_no_skin(arm):
    taken = cut(arm.anatomy, "anterior-interosseous-lesion").affected

    assert {arm.anatomy.target(name).kind for name in taken} == {"muscle"}
    assert set(taken) == {
        "flexor-pollicis-longus",
        "flexor-digitorum-profundus-lateral",
        "pronator-quadratus",
    }


def test_pronator_syndrome_spares_pronator_teres_and_struthers_does_not(arm):
    assert words_of(arm, "pronator-syndrome", "pronator-teres") == ["spared"]
    assert words_of(arm, "median-struthers-lesion", "pronator-teres") == ["all"]


def test_brachialis_keeps_its_radial_part_when_the_musculocutaneous_nerve_is_cut(arm):
    targets = ("biceps-brachii", "brachialis")

    assert words_of(arm, "musculocutaneous-lesion", *targets) == ["all", "most"]


# Variants: Roy 2016, Ehler 2017 (Martin-Gruber); Caetano 2019 (Riche-Cannieu); Belson 1976.
def with_variant(variant: str):
    return build(read_bundled_map("arm"), (variant,))


def test_martin_gruber_fibres_join_below_the_elbow_and_outlive_a_cut_there():
    anatomy = with_variant("martin-gruber")
    at_elbow = cut(anatomy, "ulnar-elbow-lesion").words
    at_wrist = cut(anatomy, "ulnar-canal-lesion").words

    assert at_elbow["dorsal-interossei"] in ("some", "most")
    assert at_elbow["skin-little"] == "all"
    assert at_elbow["flexor-carpi-ulnaris"] == "all"
    assert at_wrist["dorsal-interossei"] == "all"


def test_without_the_variant_the_same_cut_takes_all_of_the_interossei(arm):
    assert words_of(arm, "ulnar-elbow-lesion", "dorsal-interossei") == ["all"]


def test_martin_gruber_makes_a_median_cut_at_the_elbow_reach_ulnar_muscles(arm):
    plain = cut(arm.anatomy, "median-struthers-lesion").shares["dorsal-interossei"]
    crossed = cut(with_variant("martin-gruber"), "median-struthers-lesion").shares

    assert plain == 0
    assert crossed["dorsal-interossei"] > 0
    assert crossed["skin-little"] == 0


def test_no_fibre_of_the_little_finger_crosses_with_martin_gruber():
    anatomy = with_variant("martin-gruber")

    assert anatomy.supplies_target(("median", "ulnar", "deep-ulnar"), "dorsal-interossei")
    assert not anatomy.is_true(("median", "superficial-ulnar"))
    assert not anatomy.is_true(("median", "ulnar", "dorsal-ulnar"))


def test_riche_cannieu_leaves_thenar_muscles_a_share_in_the_carpal_tunnel():
    words = cut(with_variant("riche-cannieu"), "carpal-tunnel-lesion").words

    assert words["abductor-pollicis-brevis"] in ("some", "most")
    assert words["skin-index"] == "all"


def test_flexor_pollicis_brevis_loses_half_or_nothing_in_the_carpal_tunnel(arm):
    assert words_of(arm, "carpal-tunnel-lesion", "flexor-pollicis-brevis") == ["most"]
    words = cut(with_variant("fpb-ulnar"), "carpal-tunnel-lesion").words
    assert words["flexor-pollicis-brevis"] == "spared"
