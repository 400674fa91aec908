"""What the cards print of the map: one place for press, table, knowledge and printed test.

`Prints` holds everything that could be printed; what ``parts_show`` and ``targets_show`` let
through is asked of its methods.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from itertools import combinations

from nervure.game.counts import leading_pairs
from nervure.game.rules import Rules
from nervure.game.strands import Strand, StrandRules

Ids = tuple[str, ...]


@dataclass(frozen=True)
class Prints:
    """What part cards and target cards may print; ids in deck, map and origin order.

    Attributes
    ----------
    partners
        Structure -> those that can stand with it in one joined strand.
    origins_of_part
        Structure -> origins of the pathways, to any target of the map, that run through it.
    targets_of_part
        Structure -> targets of the game that some strand ending in it claims.
    origins_of_target, main_origins_of_target
        Target -> origins of its pathways, of its main pathways.
    way_of_target
        Target -> the last deck structures of its pathways.
    lit_of_target
        Target -> all deck structures of its pathways (of the main ones if supply is "main").
    """

    rules: Rules
    partners: Mapping[str, Ids]
    origins_of_part: Mapping[str, Ids]
    targets_of_part: Mapping[str, Ids]
    origins_of_target: Mapping[str, Ids]
    main_origins_of_target: Mapping[str, Ids]
    way_of_target: Mapping[str, Ids]
    lit_of_target: Mapping[str, Ids]

    def part_lists(self, structure: str) -> Ids:
        """Give the part cards that a part card lists on its two edges."""
        return () if self.rules.parts_show == "nothing" else self.partners[structure]

    def part_lists_targets(self, structure: str) -> Ids:
        """Give the targets that a part card lists."""
        if self.rules.parts_show != "links-and-targets":
            return ()
        return self.targets_of_part[structure]

    def target_marks(self, target: str) -> Ids | None:
        """Give the origins that count on a target card (if asked, main ones); None: not shown."""
        if self.rules.targets_show not in ("origins", "pathways"):
            return None
        if self.rules.supply == "main":
            return self.main_origins_of_target[target]
        return self.origins_of_target[target]

    def target_way(self, target: str) -> Ids | None:
        """Give the structures that a target card names as supplying it; None: not shown."""
        if self.rules.targets_show not in ("way", "pathways"):
            return None
        return self.way_of_target[target]

    def target_lights(self, target: str) -> Ids | None:
        """Give the structures lit on a target card; None: not shown."""
        return self.lit_of_target[target] if self.rules.targets_show == "pathways" else None


def prints_of(
    strands: StrandRules, joined: Iterable[Strand], claiming: Mapping[str, frozenset[Strand]]
) -> Prints:
    """Give what the cards of a deck may print."""
    structures = tuple(strands.tier_index)
    partners: dict[str, set[str]] = {name: set() for name in structures}
    for strand in joined:
        for one, other in combinations(strand, 2):
            partners[one].add(other)
            partners[other].add(one)
    origins: dict[str, set[str]] = {name: set() for name in structures}
    for pathway in strands.anatomy.all_pathways:
        for name in pathway.structures:
            if name in origins:
                origins[name].add(pathway.origin)
    leads = leading_pairs(claiming)
    main_only = strands.rules.supply == "main"
    lit = {
        target: {name for way in strands.ways_of(target, main_only) for name in way.structures}
        for target in strands.targets
    }
    in_order = strands.anatomy.origins
    return Prints(
        rules=strands.rules,
        partners={name: _ordered(partners[name], structures) for name in structures},
        origins_of_part={name: _ordered(origins[name], in_order) for name in structures},
        targets_of_part={
            name: tuple(target for target in strands.targets if (name, target) in leads)
            for name in structures
        },
        origins_of_target={name: strands.anatomy.fibres_of(name) for name in strands.targets},
        main_origins_of_target={
            name: strands.anatomy.main_fibres_of(name) for name in strands.targets
        },
        way_of_target={
            name: _ordered(strands.last_of[name], structures) for name in strands.targets
        },
        lit_of_target={name: _ordered(lit[name], structures) for name in strands.targets},
    )


def _ordered(names: set[str], order: Ids) -> Ids:
    return tuple(name for name in order if name in names)
