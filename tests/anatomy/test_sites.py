"""Sites as people write them, and the levels that occur."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from nervure.anatomy import Anatomy, Site, build, levels_of, parse_site, sites_of
from nervure.errors import BadUsage, UnknownName
from nervure.project.records import Map

MapMaker = Callable[..., Map]


@pytest.fixture
def arm(small_map: MapMaker) -> Anatomy:
    return build(
        small_map(
            {"root": "c7 c8", "nerve": "radial median ulnar axillary"},
            """c7 radial level=4
               c8 ulnar
               c8 median level=4
               c7 axillary
               median ulnar level=2 enters=1 variant=joined""",
            """triceps radial level=1
               extensor radial level=3
               thumb radial
               hand ulnar
               thenar median level=1
               deltoid axillary
               little-finger ulnar""",
            targets="little-finger kind=potential",
            variants="joined",
            lesions="both-elbow radial@3 ulnar fibres=c7",
        )
    )


@pytest.mark.parametrize(
    ("text", "site", "name"),
    [
        ("radial", Site("radial", 1), "radial"),
        ("radial@1", Site("radial", 1), "radial"),
        (" radial @ 3 ", Site("radial", 3), "radial@3"),
        ("c7>radial", Site("c7", end="radial"), "c7>radial"),
        ("median > ulnar", Site("median", end="ulnar"), "median>ulnar"),
    ],
)
def test_a_site_is_read_and_named(arm: Anatomy, text: str, site: Site, name: str) -> None:
    assert parse_site(arm, text) == site
    assert str(site) == name


def test_a_named_lesion_stands_for_its_sites_with_its_limits(arm: Anatomy) -> None:
    assert sites_of(arm, "both-elbow") == (
        Site("radial", 3, fibres=("c7",)),
        Site("ulnar", 1, fibres=("c7",)),
    )


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("elbow", "'elbow' is no structure or named lesion. Accepted: c7 c8 radial"),
        ("c7>ulnar", "'c7>ulnar' is no link. Accepted: c7>radial c7>axillary."),
        ("radial@0", "'0' is no level of radial"),
        ("radial@high", "Those that occur: radial@1 radial@3 radial@4."),
    ],
)
def test_what_is_no_site_is_refused_with_what_would_be(
    arm: Anatomy, text: str, message: str
) -> None:
    with pytest.raises((BadUsage, UnknownName)) as refused:
        parse_site(arm, text)

    assert message in str(refused.value)


@pytest.mark.parametrize(
    ("structure", "levels"),
    [
        ("radial", (1, 3, 4)),  # the distal end is one beyond the last known level
        ("axillary", (1,)),  # nothing is known: the whole structure
        ("c7", (1, 4, 5)),
        ("c8", (1, 4, 5)),
        ("median", (1,)),
    ],
)
def test_the_levels_that_occur(arm: Anatomy, structure: str, levels: tuple[int, ...]) -> None:
    assert levels_of(arm, structure) == levels


def test_a_junction_on_the_way_makes_a_level_on_each_side(arm: Anatomy) -> None:
    joined = build(arm.map, ["joined"])

    assert levels_of(joined, "ulnar") == (1, 2)
    assert levels_of(joined, "median") == (1, 2)


def test_an_origin_of_a_sensory_potential_has_a_level_beyond_the_ganglion(
    small_map: MapMaker,
) -> None:
    anatomy = build(
        small_map(
            {"root": "l5", "nerve": "sural"},
            "l5 sural",
            "sural-potential sural",
            targets="sural-potential kind=potential",
        )
    )

    assert levels_of(anatomy, "l5") == (1, 2)
    assert levels_of(anatomy, "sural") == (1,)
