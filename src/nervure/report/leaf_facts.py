"""What a leaf needs to know of the anatomy beyond places: what lights what, what a variant brings.

Lanes and joints are addressed by (start, end, fibre): a lane by all three, a structure's
joint by its start alone, a target's tooth by its end alone, an origin's stalk by its fibre.
"""

from __future__ import annotations

from collections.abc import Mapping
from itertools import pairwise

from nervure.anatomy import Anatomy
from nervure.anatomy.layout import Layout, Vein

Lane = tuple[str, str, str]


def pathway_count(anatomy: Anatomy) -> int:
    """Give the number of pathways, each sequence of structures to a target once.

    (The anatomy lists a sequence again where several rows of the map bear it out.)
    """
    return len({(pathway.target, pathway.structures) for pathway in anatomy.all_pathways})


def lit_by(
    anatomy: Anatomy, layout: Layout, targets: Mapping[str, int], structures: Mapping[str, int]
) -> dict[Lane, str]:
    """Give the classes of lanes and joints: ``p7`` lit by target 7, ``q3`` by structure 3."""
    found: dict[Lane, dict[str, None]] = {}
    for pathway in anatomy.all_pathways:
        if pathway.target not in targets:
            continue
        stops = [name for name in pathway.structures if name in structures]
        marks = [f"p{targets[pathway.target]}", *(f"q{structures[name]}" for name in stops)]
        lanes = [(one, other, pathway.origin) for one, other in pairwise([*stops, pathway.target])]
        lanes += [(name, "", "") for name in stops]
        lanes += [("", pathway.target, ""), ("", "", pathway.origin)]
        for lane in lanes:
            found.setdefault(lane, {}).update(dict.fromkeys(marks))
    return {lane: " ".join(marks) for lane, marks in found.items()}


def lighting_rules(key: str, targets: int, structures: int) -> str:
    """Give the style sheet that lights lanes: by a target or structure pointed at or kept."""
    rules = []
    for place in range(targets):
        part, lanes = f"#{key}-t{place}", f".p{place}"
        rules.append(
            f".leaf:has({part}:is(:hover,:focus-visible)) {lanes},"
            f".leaf:not(:has(.pick:hover)):has({part}:target) {lanes}{{--on:1}}"
        )
    rules += [
        f".leaf:has(#{key}-s{place}:hover) .q{place}{{--on:1}}" for place in range(structures)
    ]
    return "\n".join(rules)


def variant_lanes(anatomy: Anatomy) -> dict[Lane, str]:
    """Give the variant of each lane that is there only because of it."""
    rows = [(row.variant, row.start, row.end, anatomy.carried(row)) for row in anatomy.links]
    rows += [
        (row.variant, row.through, row.target, anatomy.supplied(row)) for row in anatomy.supplies
    ]
    always: set[Lane] = set()
    found: dict[Lane, str] = {}
    for variant, start, end, fibres in rows:
        lanes = [(start, end, fibre) for fibre in fibres]
        if variant and not variant.startswith("-"):
            found |= dict.fromkeys(lanes, variant)
        else:
            always.update(lanes)
    return {lane: variant for lane, variant in found.items() if lane not in always}


def main_fibres(anatomy: Anatomy, vein: Vein) -> frozenset[str]:
    """Give the main fibres of a supply; none for a link."""
    return frozenset(
        fibre
        for row in anatomy.supplies
        if (row.through, row.target) == (vein.start, vein.end)
        for fibre in row.main_fibres
    )
