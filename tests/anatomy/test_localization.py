"""Localisation on a map small enough to work out by hand.

Origins a, b; nerves m (from a) and n (from a and b). Targets t1 through m; t2 through n,
fibres a and b, main b; t3 and t4 through n, fibres b. Shares lost x:

          t1    t2    t3    t4
    a     1    1/3    0     0
    b     0    2/3    1     1
    m     1     0     0     0
    n     0     1     1     1

With e = 0.05, P(affected | x) = 0.05 + 0.9 min(1, 2x): 0.05 for x = 0, 0.65 for 1/3,
0.95 from 1/2 on. One level each, so the prior is 1/4 for each site.
"""

from __future__ import annotations

from collections.abc import Callable

import pytest

from nervure.anatomy import Anatomy, build, cut, localize
from nervure.anatomy.localization import candidate_sites
from nervure.errors import BadUsage, UnknownName
from nervure.project.records import Map

MapMaker = Callable[..., Map]
TIERS = {"root": "a b", "nerve": "m n"}
LINKS = "a m\na n\nb n"
SUPPLIES = "t1 m\nt2 n main=b\nt3 n fibres=b\nt4 n fibres=b"


@pytest.fixture
def hand(small_map: MapMaker) -> Anatomy:
    return build(small_map(TIERS, LINKS, SUPPLIES))


def test_the_shares_of_the_table_above(hand: Anatomy) -> None:
    assert {site: list(cut(hand, [site]).shares.values()) for site in "abmn"} == {
        "a": pytest.approx([1, 1 / 3, 0, 0]),
        "b": pytest.approx([0, 2 / 3, 1, 1]),
        "m": [1, 0, 0, 0],
        "n": [0, 1, 1, 1],
    }


def test_one_affected_target_leaves_the_sites_that_take_it(hand: Anatomy) -> None:
    # Likelihoods of t1 affected: 0.95 0.05 0.95 0.05, sum 2.
    found = localize(hand, ["t1"], [])

    assert {rank.site: rank.probability for rank in found.sites} == pytest.approx(
        {"a": 0.475, "m": 0.475, "b": 0.025, "n": 0.025}
    )


def test_two_findings_multiply(hand: Anatomy) -> None:
    # t1 affected, t2 spared: a 0.95*0.35 = 0.3325; b and n 0.05*0.05 = 0.0025;
    # m 0.95*0.95 = 0.9025; sum 1.24.
    found = localize(hand, ["t1"], ["t2"])

    assert [(rank.site, rank.probability) for rank in found.sites] == [
        ("m", pytest.approx(0.9025 / 1.24)),
        ("a", pytest.approx(0.3325 / 1.24)),
        ("b", pytest.approx(0.0025 / 1.24)),
        ("n", pytest.approx(0.0025 / 1.24)),
    ]


def test_each_site_says_what_it_explains_and_misses(hand: Anatomy) -> None:
    found = {rank.site: rank for rank in localize(hand, ["t1"], ["t2", "t3"]).sites}

    assert (found["m"].explains, found["m"].misses) == (("t1", "t2", "t3"), ())
    assert (found["a"].explains, found["a"].misses) == (("t1", "t3"), ("t2",))
    assert (found["n"].explains, found["n"].misses) == ((), ("t1", "t2", "t3"))


def test_the_next_examination_has_the_largest_expected_drop_in_entropy(hand: Anatomy) -> None:
    # After t1 affected the posterior is a .475, m .475, b .025, n .025:
    #   H = -2(.475 log2 .475) - 2(.025 log2 .025) = 1.020301 + 0.266096 = 1.286397
    # t2: affected a .475*.65 = .30875, m .475*.05 = .02375, b and n .025*.95 = .02375 each;
    #     sum .38; divided by it .8125 .0625 .0625 .0625 -> H = 0.243393 + 3*0.25 = 0.993393
    #     spared  a .16625, m .45125, b and n .00125 each; sum .62
    #     -> .268145 .727823 .002016 .002016 -> H = 0.878881
    #     drop 1.286397 - .38*.993393 - .62*.878881 = 0.364001
    # t3 (and t4, alike): affected a, m, b, n .02375 each; sum .095 -> four quarters, H = 2;
    #     spared a and m .45125, b and n .00125; sum .905
    #     -> .498619 twice, .001381 twice -> H = 1.027460
    #     drop 1.286397 - .095*2 - .905*1.027460 = 0.166546
    found = localize(hand, ["t1"], [])

    assert found.next is not None
    assert found.next.target == "t2"
    assert dict(found.drops) == pytest.approx(
        {"t2": 0.364001, "t3": 0.166546, "t4": 0.166546}, abs=2e-6
    )
    affected, spared = found.next.outcomes
    assert (affected.probability, spared.probability) == pytest.approx((0.38, 0.62))
    assert affected.groups[0].sites == ("a",)
    assert affected.groups[0].probability == pytest.approx(0.8125)
    assert spared.groups[0].sites == ("m",)
    assert spared.groups[0].probability == pytest.approx(0.45125 / 0.62)


def test_error_can_be_set(hand: Anatomy) -> None:
    # e = 0.2: likelihoods of t1 affected 0.8 and 0.2.
    found = localize(hand, ["t1"], [], error=0.2)

    assert found.sites[0].probability == pytest.approx(0.8 / 2)


def test_the_prior_is_even_over_structures_and_split_over_their_levels(
    small_map: MapMaker,
) -> None:
    # Offered: a, b, n (levels 1 2 3) and the named lesion; m is closed. Four in all.
    anatomy = build(
        small_map(
            TIERS,
            LINKS,
            "t1 m\nt2 n level=1\nt3 n level=2\nt4 n",
            closed="m",
            lesions="twice a m",
        )
    )

    assert {name: prior for name, _, prior in candidate_sites(anatomy)} == pytest.approx(
        {"a": 1 / 4, "b": 1 / 4, "n": 1 / 12, "n@2": 1 / 12, "n@3": 1 / 12, "twice": 1 / 4}
    )


def test_without_findings_the_prior_is_given_back(hand: Anatomy) -> None:
    assert [rank.probability for rank in localize(hand, [], []).sites] == pytest.approx([0.25] * 4)


def test_a_named_lesion_of_several_sites_can_explain_what_no_single_site_does(
    small_map: MapMaker,
) -> None:
    anatomy = build(small_map(TIERS, LINKS, SUPPLIES, lesions="both-nerves m n"))

    found = localize(anatomy, ["t1", "t3", "t4"], [])

    assert found.sites[0].site == "both-nerves"
    assert found.sites[0].misses == ()


def test_sites_alike_on_all_targets_are_one_group(small_map: MapMaker) -> None:
    anatomy = build(small_map({"root": "a b", "nerve": "m n"}, "a m\nb n", "t1 m\nt2 n"))

    found = localize(anatomy, ["t1"], [])

    assert [group.sites for group in found.groups] == [("a", "m"), ("b", "n")]
    assert found.groups[0].probability == pytest.approx(0.95)


def test_nothing_is_next_when_no_target_tells_sites_apart(small_map: MapMaker) -> None:
    anatomy = build(small_map({"root": "a", "nerve": "m"}, "a m", "t1 m\nt2 m"))

    assert localize(anatomy, ["t1"], []).next is None
    assert localize(anatomy, ["t1"], ["t2"]).next is None


def test_a_target_without_supply_says_nothing(small_map: MapMaker) -> None:
    anatomy = build(small_map(TIERS, LINKS, SUPPLIES, targets="t0"))

    for found in (localize(anatomy, ["t1"], ["t0"]), localize(anatomy, ["t1", "t0"], [])):
        assert found.sites[0].probability == pytest.approx(0.475)


@pytest.mark.parametrize("error", [0, 0.5, -0.1, 1])
def test_an_error_that_cannot_be_is_refused(hand: Anatomy, error: float) -> None:
    with pytest.raises(BadUsage, match=r"above 0 and below 0\.5"):
        localize(hand, ["t1"], [], error=error)


def test_a_target_cannot_be_affected_and_spared(hand: Anatomy) -> None:
    with pytest.raises(BadUsage, match="both affected and spared: t1"):
        localize(hand, ["t1", "t2"], ["t1"])


def test_an_unknown_target_is_refused(hand: Anatomy) -> None:
    with pytest.raises(UnknownName, match=r"'t9' is no target\. Accepted: t1 t2 t3 t4\."):
        localize(hand, ["t9"], [])
