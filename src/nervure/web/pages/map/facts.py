"""What the map's script is told once: structures, targets, pathways; no rule is in it."""

from __future__ import annotations

from typing import Any

from nervure.anatomy import Anatomy, levels_of
from nervure.anatomy.pathways import DISTAL_END
from nervure.web.pages.map.drawing import picture_of
from nervure.web.shelf import Reading


def facts_of(reading: Reading) -> dict[str, Any]:
    """Give what a script needs to light pathways and to name what it lights.

    ``pathways`` stand in the order of `nervure.anatomy.Anatomy.all_pathways`; cuts name
    them by their place.
    """
    with reading.lock:
        if "facts" not in reading.worked_out:
            reading.worked_out["facts"] = _facts(reading)
        found: dict[str, Any] = reading.worked_out["facts"]
        return found


def _facts(reading: Reading) -> dict[str, Any]:
    anatomy, picture = reading.anatomy, picture_of(reading)
    short = {row.id: row.short or row.name for row in anatomy.map.structures}
    tiers = {row.id: row.name for row in anatomy.map.tiers}
    return {
        "laneGap": picture.lane_gap,
        "size": picture.size,
        "origins": [{"id": origin, "short": short[origin]} for origin in anatomy.origins],
        "structures": [
            {
                "id": name,
                "name": anatomy.structure(name).name,
                "tier": tiers.get(anatomy.tier_of(name), ""),
                "x": joint.x,
                "y": joint.y,
                "angle": joint.angle,
                "half": joint.half,
                "levels": _levels(anatomy, name),
            }
            for name, joint in picture.joints.items()
        ],
        "targets": [
            {
                "id": name,
                "name": anatomy.target(name).name,
                "test": anatomy.target(name).test,
                "fibres": list(anatomy.fibres_of(name)),
            }
            for name in picture.targets
        ],
        "pathways": [
            {
                "target": pathway.target,
                "origin": pathway.origin,
                "main": pathway.main,
                "structures": list(pathway.structures),
            }
            for pathway in anatomy.all_pathways
        ],
    }


def _levels(anatomy: Anatomy, structure: str) -> list[dict[str, Any]]:
    """Give the levels of a structure with what leaves it before each of them."""
    names = {row.id: row.short or row.name for row in anatomy.map.structures}
    names |= {row.id: row.short or row.name for row in anatomy.map.targets}
    leaving = [(row.level, row.end) for row in anatomy.links if row.start == structure]
    leaving += [(row.level, row.target) for row in anatomy.supplies if row.through == structure]
    return [
        {
            "level": level,
            "before": list(
                dict.fromkeys(
                    names[name]
                    for left, name in leaving
                    if (DISTAL_END if left is None else left) < level
                )
            ),
        }
        for level in levels_of(anatomy, structure)
    ]
