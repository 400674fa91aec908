"""Faults of a map that its graph decides, each with file, row and column.

Checked are the map as given and, one at a time on top of it, every other variant that it
declares. What is wrong in both is said once; what only a variant makes wrong names the
variant. A structure or a target may belong to a variant alone: it is unreached or
unsupplied only if it is so throughout. Ids, duplicates and cells that cannot be read are
the business of `nervure.project.read_folder`.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Iterable, Iterator

from nervure import words
from nervure.anatomy._doubts import doubts, source_doubts
from nervure.anatomy._network import MOST_PATHWAYS, Network, is_in_force, make_network
from nervure.anatomy.evidence import evidence
from nervure.anatomy.pathways import Anatomy
from nervure.errors import Fault, error, sort_faults, warning
from nervure.project.records import Ids, Link, Map, Supply


def map_faults(map_: Map, variants: Iterable[str] = ()) -> tuple[Fault, ...]:
    """Give all errors and warnings of a map that need its graph, sorted by file and row.

    Errors: a link to a more proximal tier; a cycle; fibres that do not reach, or cannot
    leave where the row says; a supply outside what reaches its structure; a structure
    that no origin reaches; a target without supply; more than `MOST_PATHWAYS` pathways.
    The warnings are doubts, see docs/project-folder.md, Faults of the map.
    """
    declared = tuple(dict.fromkeys(variant.id for variant in map_.variants))
    given = tuple(variant for variant in declared if variant in tuple(variants))
    settings = [("", given)]
    settings += [(variant, (*given, variant)) for variant in declared if variant not in given]
    found: dict[tuple[object, ...], Fault] = {}
    built = []
    for variant, taken in settings:
        network = make_network(map_, taken)
        anatomy = Anatomy(map_, taken, network)
        built.append(anatomy)
        said = words.say("anatomy.with-variant", variant=variant) if variant else ""
        for fault in (
            *_link_direction(map_, taken, said),
            *_cycles(network, said),
            *_fibres(network, anatomy, said),
            *_too_many(network, anatomy, said),
            *doubts(anatomy, said),
        ):
            found.setdefault((fault.code, fault.place, fault.value), fault)
    whole = (*_missing(map_, built), *source_doubts(map_), *_contradictions(built[0]))
    return sort_faults([*found.values(), *whole])


def _link_direction(map_: Map, variants: Ids, said: str) -> Iterator[Fault]:
    order = {tier.id: place for place, tier in reversed(list(enumerate(map_.tiers)))}
    tiers = {structure.id: structure.tier for structure in reversed(map_.structures)}
    for link in map_.links:
        start, end = tiers.get(link.start, ""), tiers.get(link.end, "")
        if start not in order or end not in order or order[end] >= order[start]:
            continue
        if is_in_force(link.variant, frozenset(variants)):
            yield error(
                "link-to-proximal",
                link.place.at("to"),
                value=link.end,
                start=link.start,
                start_tier=start,
                end_tier=end,
                accepted=" ".join(list(order)[::-1][order[start] :]),
                variant=said,
            )


def _cycles(network: Network, said: str) -> Iterator[Fault]:
    left = list(network.cyclic)
    while left:
        last = left[-1]
        names = _way_round(last, network.cyclic)
        yield error(
            "cycle",
            last.place.at("to"),
            value=last.end,
            cycle=words.say("anatomy.arrow").join(names),
            variant=said,
        )
        # Links that share a structure with the cycle wait until this one is mended.
        left = [link for link in left if link.start not in names and link.end not in names]


def _way_round(link: Link, links: Iterable[Link]) -> list[str]:
    """Give the shortest cycle that uses a link, its first structure repeated at the end."""
    came_from: dict[str, str] = {link.end: link.start}
    waiting = deque([link.end])
    while waiting and link.start not in came_from:
        name = waiting.popleft()
        for other in links:
            if other.start == name and other.end not in came_from:
                came_from[other.end] = name
                waiting.append(other.end)
    names = [link.start]
    while len(names) == 1 or names[-1] != link.start:
        names.append(came_from[names[-1]])
    return names[::-1]


def _fibres(network: Network, anatomy: Anatomy, said: str) -> Iterator[Fault]:
    for link in network.links:
        yield from _row_fibres(anatomy, link, link.start, anatomy.carried(link), "link", said)
    for supply in network.supplies:
        taken = anatomy.supplied(supply)
        yield from _row_fibres(anatomy, supply, supply.through, taken, "supply", said)


def _row_fibres(
    anatomy: Anatomy,
    row: Link | Supply,
    structure: str,
    taken: frozenset[str],
    kind: str,
    said: str,
) -> Iterator[Fault]:
    reach = anatomy.reach(structure)
    column = "main_fibres" if row.fibres is None else "fibres"
    stated = row.main_fibres if row.fibres is None else row.fibres
    stated = tuple(fibre for fibre in stated if fibre in anatomy.origins and fibre not in taken)
    details = {"structure": structure, "reach": " ".join(reach), "variant": said}
    if outside := [fibre for fibre in stated if fibre not in reach]:
        code = "fibres-do-not-reach" if kind == "link" else "supply-outside-reach"
        if not reach:
            code = "fibres-from-nowhere"
        yield error(code, row.place.at(column), value=" ".join(outside), **details)
    # Blank fibres that all fail are as wrong as stated ones that do.
    held = [fibre for fibre in stated if fibre in reach]
    if row.fibres is None and reach and not taken:
        held = list(reach)
    if held:
        column = "via" if row.via else "level"
        value = " ".join(row.via) if row.via else str(row.level or "")
        yield error(
            "fibres-cannot-leave",
            row.place.at(column),
            value=value,
            fibres=" ".join(held),
            **details,
        )


def _too_many(network: Network, anatomy: Anatomy, said: str) -> Iterator[Fault]:
    for origin, search in network.searches.items():
        if search.is_cut_short:
            place = network.structures[origin].place.at("structure")
            yield error("too-many-ways", place, value=origin, variant=said)
    count = network.pathway_count
    if count > MOST_PATHWAYS and anatomy.links:
        yield error(
            "too-many-pathways",
            anatomy.links[-1].place.at(None),
            value=str(count),
            most=MOST_PATHWAYS,
            variant=said,
        )


def _missing(map_: Map, built: list[Anatomy]) -> Iterator[Fault]:
    """Give structures unreached or idle, and targets unsupplied, in every setting."""
    supplied = {row.target for anatomy in built for row in anatomy.supplies}
    reached = {
        name: any(anatomy.reach(name) for anatomy in built) for name in built[0].structure_ids
    }
    useful = {name for anatomy in built for name in anatomy.useful}
    for structure in map_.structures:
        if structure.id not in reached:
            continue
        if not reached[structure.id]:
            accepted = " ".join(built[0].origins)
            place = structure.place.at("structure")
            yield error("structure-unreached", place, value=structure.id, accepted=accepted)
        elif structure.id not in useful:
            place = structure.place.at("structure")
            yield warning("structure-idle", place, value=structure.id)
    for target in map_.targets:
        if target.id not in supplied:
            yield error("target-unsupplied", target.place.at("target"), value=target.id)


def _contradictions(anatomy: Anatomy) -> Iterator[Fault]:
    """Give the supplies of the map as given that most readings contradict."""
    rows = {(row.target, row.through): row for row in reversed(anatomy.supplies)}
    for found in evidence(anatomy).supplies:
        if found.is_contradicted and (found.target, found.through) in rows:
            differ = len(found.more + found.less + found.other)
            origins = " ".join(found.against)
            yield warning(
                "readings-contradict",
                rows[found.target, found.through].place.at("fibres"),
                value=" ".join(found.fibres),
                through=found.through,
                count=differ,
                of=differ + len(found.exactly),
                against=words.say("anatomy.against", origins=origins) if origins else "",
            )
