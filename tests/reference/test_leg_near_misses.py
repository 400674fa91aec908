"""Pictures that resemble one another are told apart by the leg map.

Source of the expected values: foot drop, L5 root against common fibular nerve against
lumbosacral trunk: medicowesome-2017, clinicalgate-peroneal, intrapartum2002 and
emg-atlas-paraspinal of src/nervure/maps/leg/sources.csv. Femoral nerve against its roots:
neuro-ddx-text, preston-femoral. The rest is common teaching (clinical-memory there), as said
at each test.
"""

import pytest

from nervure.anatomy import cut

FOOT_DROP = ("tibialis-anterior", "extensor-hallucis-longus", "fibularis-longus")


def test_no_way_to_tibialis_anterior_passes_the_anterior_division(leg):
    ways = leg.anatomy.pathways("tibialis-anterior")

    assert {way.origin for way in ways} == {"l4", "l5"}
    assert all("sacral-posterior-division" in way.structures for way in ways)
    assert all("common-fibular-nerve" in way.structures for way in ways)
    assert not leg.anatomy.is_true(("l5", "sacral-anterior-division", "deep-fibular-nerve"))


def test_no_way_of_the_tibial_nerve_passes_the_posterior_division(leg):
    assert not leg.anatomy.is_true(("sacral-posterior-division", "sciatic-nerve", "tibial-nerve"))
    assert leg.anatomy.is_true(("sacral-anterior-division", "sciatic-nerve", "tibial-nerve"))


FOOT_DROPS = {
    # site: affected, spared besides the muscles of foot drop itself
    "l5-radiculopathy": (
        ("gluteus-medius", "tibialis-posterior", "multifidus-l5"),
        ("potential-superficial-fibular", "rectus-femoris", "adductor-longus"),
    ),
    "lumbosacral-trunk-lesion": (
        ("gluteus-medius", "tibialis-posterior", "potential-superficial-fibular"),
        ("multifidus-l5", "rectus-femoris", "adductor-longus"),
    ),
    "sciatic-fibular-part": (
        ("biceps-femoris-short-head", "potential-superficial-fibular"),
        ("gluteus-medius", "tibialis-posterior", "multifidus-l5"),
    ),
    "common-fibular-neck": (
        ("potential-superficial-fibular", "skin-first-web"),
        ("biceps-femoris-short-head", "gluteus-medius", "tibialis-posterior", "skin-lateral-leg"),
    ),
    "deep-fibular-leg": (
        ("tibialis-anterior", "skin-first-web"),
        ("fibularis-longus", "potential-superficial-fibular", "tibialis-posterior"),
    ),
}


@pytest.mark.parametrize("site", FOOT_DROPS)
def test_foot_drop_affects_and_spares_what_its_site_should(leg, site):
    affected, spared = FOOT_DROPS[site]
    shares = cut(leg.anatomy, site).shares

    assert all(shares[name] > 0 for name in affected)
    assert all(shares[name] == 0 for name in spared)


@pytest.mark.parametrize("site", FOOT_DROPS)
def test_foot_drop_is_localised_to_its_site(leg, ranks, site):
    affected, spared = FOOT_DROPS[site]
    weak = affected if "fibularis-longus" in spared else (*FOOT_DROP, *affected)

    first = ranks(leg.anatomy, weak, spared)[0]

    assert site in first


def test_the_short_head_of_biceps_tells_the_thigh_from_the_fibular_neck(leg):
    """Clinicalgate-peroneal: the last branch of the fibular part above the knee."""
    assert cut(leg.anatomy, "sciatic-nerve@3").shares["biceps-femoris-short-head"] == 1
    assert cut(leg.anatomy, "common-fibular-nerve").shares["biceps-femoris-short-head"] == 0
    assert cut(leg.anatomy, "sciatic-nerve@4").shares["biceps-femoris-short-head"] == 0


def test_with_a_high_division_the_short_head_hangs_on_the_common_fibular_nerve(anatomy_with):
    variant = anatomy_with("leg", "high-sciatic-division")

    shares = cut(variant, "common-fibular-nerve").shares
    assert shares["biceps-femoris-short-head"] == 1
    assert cut(variant, "common-fibular-neck").shares["biceps-femoris-short-head"] == 0
    assert cut(variant, "sciatic-whole").shares["tibialis-anterior"] == 0


QUADRICEPS = ("rectus-femoris", "vastus-lateralis", "vastus-medialis", "vastus-intermedius")
WEAK_KNEES = {
    "femoral-above-ligament": (
        (*QUADRICEPS, "iliacus", "skin-anterior-thigh", "potential-saphenous"),
        ("adductor-longus", "tibialis-anterior", "skin-lateral-thigh", "multifidus-l3"),
    ),
    "femoral-below-ligament": (
        (*QUADRICEPS, "pectineus", "skin-anterior-thigh", "potential-saphenous"),
        ("iliacus", "psoas-major", "adductor-longus", "tibialis-anterior", "multifidus-l3"),
    ),
    "l3-l4-radiculopathy": (
        (*QUADRICEPS, "adductor-longus", "tibialis-anterior", "multifidus-l3", "multifidus-l4"),
        ("potential-saphenous", "gastrocnemius", "extensor-hallucis-longus"),
    ),
    "l2-l3-radiculopathy": (
        (*QUADRICEPS, "adductor-longus", "psoas-major", "multifidus-l2", "multifidus-l3"),
        ("tibialis-anterior", "potential-saphenous", "multifidus-l4"),
    ),
    "obturator-canal": (
        ("adductor-longus", "gracilis", "obturator-externus", "reflex-adductor"),
        (*QUADRICEPS, "reflex-knee", "iliacus", "psoas-major", "multifidus-l3"),
    ),
}


@pytest.mark.parametrize("site", WEAK_KNEES)
def test_weak_thigh_affects_and_spares_what_its_site_should(leg, site):
    affected, spared = WEAK_KNEES[site]
    shares = cut(leg.anatomy, site).shares

    assert all(shares[name] > 0 for name in affected)
    assert all(shares[name] == 0 for name in spared)


@pytest.mark.parametrize("site", WEAK_KNEES)
def test_weak_thigh_is_localised_to_its_site(leg, ranks, site):
    assert site in ranks(leg.anatomy, *WEAK_KNEES[site])[0]


def test_the_saphenous_nerve_leaves_the_thigh_without_taking_the_quadriceps(leg):
    """Common teaching: a purely sensory nerve, hurt in the adductor canal."""
    assert cut(leg.anatomy, "saphenous-lesion").affected == (
        "skin-medial-leg",
        "potential-saphenous",
    )


def test_meralgia_is_skin_of_the_lateral_thigh_alone(leg):
    assert cut(leg.anatomy, "meralgia-paraesthetica").affected == ("skin-lateral-thigh",)


def test_tarsal_tunnel_spares_the_heel_and_the_long_flexors(leg):
    """Common teaching; the calcaneal branch leaves above the tunnel in most people."""
    shares = cut(leg.anatomy, "tarsal-tunnel").shares

    assert shares["skin-heel"] == shares["flexor-hallucis-longus"] == shares["reflex-ankle"] == 0
    assert shares["skin-medial-sole"] == shares["abductor-hallucis"] == 1


def test_soleal_arch_spares_gastrocnemius_and_the_sural_nerve(leg):
    shares = cut(leg.anatomy, "tibial-soleal-arch").shares

    assert shares["gastrocnemius"] == shares["potential-sural"] == 0
    assert shares["tibialis-posterior"] == 1


def test_anterior_tarsal_tunnel_takes_the_short_extensor_and_the_web_only(leg):
    """statpearls-anterior-tarsal: both terminal branches lie beyond the long extensors."""
    assert set(cut(leg.anatomy, "deep-fibular-ankle").affected) == {
        "extensor-digitorum-brevis",
        "extensor-hallucis-brevis",
        "skin-first-web",
    }


@pytest.mark.parametrize("variant", ["accessory-deep-fibular-nerve", "fibular-tibial-crossing"])
def test_a_second_nerve_saves_part_of_the_short_extensor(anatomy_with, variant):
    """rayegani2011, edb2019: stimulation behind the outer, or the inner, ankle moves it."""
    anatomy = anatomy_with("leg", variant)
    second = {
        "accessory-deep-fibular-nerve": "superficial-fibular-nerve@2",
        "fibular-tibial-crossing": "tarsal-tunnel",
    }[variant]

    assert 0 < cut(anatomy, "deep-fibular-ankle").shares["extensor-digitorum-brevis"] < 1
    assert 0 < cut(anatomy, second).shares["extensor-digitorum-brevis"] < 1
    assert cut(anatomy, "common-fibular-neck").shares["extensor-digitorum-brevis"] == 1


def test_conus_spares_the_ankle_reflex_and_takes_the_sphincters(leg):
    """Common teaching: S3 and below; S1 stands above."""
    shares = cut(leg.anatomy, "conus-medullaris").shares

    assert shares["reflex-ankle"] == shares["gastrocnemius"] == 0
    assert shares["skin-perianal"] == 1
    assert shares["external-anal-sphincter"] > 0.5
    assert shares["bladder-emptying"] > 0.5


def test_sacral_nerve_potentials_survive_a_root_cut_and_not_a_plexus_cut(leg):
    assert cut(leg.anatomy, "s1").shares["potential-sural"] == 0
    assert cut(leg.anatomy, "s1@4").shares["potential-sural"] > 0


def test_without_its_fibular_share_the_sural_nerve_hangs_on_the_tibial_nerve_alone(
    leg, anatomy_with
):
    """ramakrishnan2015: no communicating branch in 31 of a hundred limbs."""
    alone = anatomy_with("leg", "tibial-sural-nerve")

    assert cut(leg.anatomy, "common-fibular-fossa").words["potential-sural"] == "some"
    assert cut(alone, "common-fibular-fossa").shares["potential-sural"] == 0
    assert cut(alone, "tibial-popliteal-fossa").shares["potential-sural"] == 1


def test_a_shifted_plexus_lets_a_neighbouring_root_share(leg, anatomy_with):
    """By definition: prefixed, a root more above; postfixed, a root more below."""
    assert cut(leg.anatomy, "l3").shares["gluteus-medius"] == 0
    assert cut(anatomy_with("leg", "prefixed-plexus"), "l3").shares["gluteus-medius"] > 0
    assert cut(leg.anatomy, "l5").shares["vastus-medialis"] == 0
    assert cut(anatomy_with("leg", "postfixed-plexus"), "l5").shares["vastus-medialis"] > 0
