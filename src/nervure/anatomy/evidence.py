"""What the map asserts beside what each source says.

``supplies.csv`` asserts, ``readings.csv`` reports; a blank cell of a reading is not stated,
and only what is stated is compared. Comes in: an `Anatomy` (its variants decide which
supplies are asserted). Goes out: `Evidence`, plain data. Nothing here changes the map.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping
from dataclasses import asdict, dataclass
from itertools import combinations
from typing import Any, Literal

from nervure.anatomy.agreement import binary_table, cohens_kappa, jaccard
from nervure.anatomy.pathways import Anatomy
from nervure.project.records import Ids, Reading

Says = Literal["exactly", "more", "less", "else", "nothing"]


@dataclass(frozen=True, slots=True)
class SupplyEvidence:
    """The sources beside one supply, each in one of the lists.

    ``through`` is "" for a target as a whole: it has several structures, and these sources
    do not say which. ``fibres`` and ``main_fibres`` are what the map asserts. A source that
    names a structure on the way to ``through`` is compared; one that names only others says
    something else (``other``). Main fibres are compared if the fibres are the same or not
    stated. ``nothing``: sources that state nothing that the map states as well.
    ``against``: origins that more than half of the sources that state fibres name and the
    map does not, or the reverse.
    """

    target: str
    through: str
    fibres: Ids
    main_fibres: Ids
    exactly: Ids
    more: Ids
    less: Ids
    other: Ids
    nothing: Ids
    against: Ids

    @property
    def is_contradicted(self) -> bool:
        """Tell whether most sources say something else, or most are against an origin."""
        compared = len(self.exactly + self.more + self.less + self.other)
        return bool(self.against) or 2 * len(self.other) > compared


@dataclass(frozen=True, slots=True)
class PairAgreement:
    """Two sources over the targets whose fibres both state.

    Units are target and origin, over those targets and the origins that either source
    names in any of them. ``agreement`` is the share of units judged alike, ``kappa`` is
    Cohen's (None where it has no value), ``jaccard`` the mean over targets of common
    origins among all named.
    """

    first: str
    second: str
    targets: int
    units: int
    agreement: float
    kappa: float | None
    jaccard: float


@dataclass(frozen=True, slots=True)
class Offer:
    """The reading that most sources share of a target of which nothing is asserted.

    Offered, never taken. ``tied``: another reading has as many sources; the first stands.
    """

    target: str
    through: str
    fibres: Ids
    main_fibres: Ids
    sources: Ids
    stated_by: int
    tied: bool


@dataclass(frozen=True, slots=True)
class Dispute:
    """An origin of which map and sources, or the sources among themselves, differ."""

    target: str
    origin: str
    is_asserted: bool
    named_by: Ids
    left_out_by: Ids


@dataclass(frozen=True, slots=True)
class Evidence:
    """All comparisons of a map with its readings."""

    supplies: tuple[SupplyEvidence, ...]
    pairs: tuple[PairAgreement, ...]
    offers: tuple[Offer, ...]
    disputes: Mapping[str, tuple[Dispute, ...]]

    def disputed(self, target: str) -> Ids:
        """Give the disputed origins of a target, in order; none if all agree."""
        return tuple(dispute.origin for dispute in self.disputes.get(target, ()))

    def deciding(self, anatomy: Anatomy, structures: Iterable[str], target: str) -> Ids:
        """Give the disputed origins on which it rests that a strand supplies a target.

        They are the origins of the target's pathways that hold all these structures, if
        every one of them is disputed; none if one is not, or if no pathway holds them.
        """
        wanted = set(structures)
        origins = {
            pathway.origin
            for pathway in anatomy.pathways(target)
            if wanted <= set(pathway.structures)
        }
        disputed = self.disputed(target)
        return _ordered(anatomy, origins) if origins <= set(disputed) else ()

    def to_dict(self) -> dict[str, Any]:
        """Give the evidence as plain data, as ``--json`` shows it."""
        return asdict(self)


def evidence(anatomy: Anatomy) -> Evidence:
    """Set the map beside its readings."""
    readings = _by_target(anatomy)
    asserted = _asserted(anatomy)
    return Evidence(
        tuple(
            found
            for target, supplies in asserted.items()
            for found in _beside(anatomy, target, supplies, readings.get(target, {}))
        ),
        _pairs(anatomy, readings),
        tuple(
            _offer(anatomy, target, by_source)
            for target, by_source in readings.items()
            if target not in asserted
            and any(reading.fibres is not None for rows in by_source.values() for reading in rows)
        ),
        {
            target.id: disputes
            for target in anatomy.map.targets
            if (disputes := _disputes(anatomy, target.id, asserted, readings.get(target.id, {})))
        },
    )


_BySource = dict[str, list[Reading]]
_Asserted = dict[str, tuple[set[str], set[str]]]


def _by_target(anatomy: Anatomy) -> dict[str, _BySource]:
    found: dict[str, _BySource] = {}
    for reading in anatomy.map.readings:
        found.setdefault(reading.target, {}).setdefault(reading.source, []).append(reading)
    return found


def _asserted(anatomy: Anatomy) -> dict[str, _Asserted]:
    """Give target -> structure -> fibres and main fibres that the rows in force assert."""
    found: dict[str, _Asserted] = {}
    for row in anatomy.supplies:
        rows = found.setdefault(row.target, {})
        fibres, main = rows.setdefault(row.through, (set(), set()))
        fibres |= anatomy.supplied(row)
        main |= anatomy.supplied(row) & set(row.main_fibres)
    return found


def _ordered(anatomy: Anatomy, fibres: set[str]) -> Ids:
    return tuple(origin for origin in anatomy.origins if origin in fibres)


def _stated(rows: list[Reading]) -> tuple[set[str] | None, set[str] | None]:
    """Give the fibres and main fibres that these readings of one source state together."""
    fibres = [set(row.fibres) for row in rows if row.fibres is not None]
    main = [set(row.main_fibres) for row in rows if row.main_fibres is not None]
    return (set().union(*fibres) if fibres else None, set().union(*main) if main else None)


def _meant(reading: Reading, on_way: dict[str, set[str]]) -> Ids:
    """Give the supplies' structures that a reading can mean.

    A structure on the way to one of them says less closely the same; a blank means any.
    """
    if reading.through in on_way:
        return (reading.through,)
    return tuple(
        through
        for through, passed in on_way.items()
        if not reading.through or reading.through in passed
    )


def compare(asserted: set[str], stated: set[str]) -> Says:
    """Tell what a source's set says beside the map's.

    >>> [compare({"l4", "l5"}, set(said.split())) for said in ("l5 l4", "l4 l5 s1", "l4", "s1")]
    ['exactly', 'more', 'less', 'else']
    """
    if stated == asserted:
        return "exactly"
    if stated > asserted:
        return "more"
    return "less" if stated < asserted else "else"


def _says(
    fibres: set[str], main: set[str], stated: tuple[set[str] | None, set[str] | None]
) -> Says:
    """Compare the fibres; if they are the same or not stated, the main fibres."""
    said_fibres, said_main = stated
    of_fibres = None if said_fibres is None else compare(fibres, said_fibres)
    if of_fibres not in (None, "exactly") or said_main is None:
        return of_fibres or "nothing"
    if main:
        return compare(main, said_main)
    if of_fibres is None:
        return "nothing" if said_main <= fibres else "else"
    return of_fibres


def _beside(
    anatomy: Anatomy, target: str, supplies: _Asserted, readings: _BySource
) -> list[SupplyEvidence]:
    on_way: dict[str, set[str]] = {through: set() for through in supplies}
    # Without readings there is nothing to place, and no need to list the pathways.
    for pathway in anatomy.pathways(target) if readings else ():
        on_way[pathway.supply.through].update(pathway.structures)
    # By structure, then source; "" gathers what may mean several structures.
    placed: dict[str, dict[str, list[Reading]]] = {}
    elsewhere: list[str] = []
    for source, rows in readings.items():
        meant = [(row, _meant(row, on_way)) for row in rows]
        if not any(throughs for _, throughs in meant):
            elsewhere.append(source)
        for row, throughs in meant:
            if throughs:
                through = throughs[0] if len(throughs) == 1 else ""
                placed.setdefault(through, {}).setdefault(source, []).append(row)
    compared: dict[str, tuple[set[str], set[str]]] = dict(supplies)
    if "" in placed:
        compared[""] = (
            set().union(*(fibres for fibres, _ in supplies.values())),
            set().union(*(main for _, main in supplies.values())),
        )
    found = []
    for through, (fibres, main) in compared.items():
        lists: dict[Says, list[str]] = {"else": list(elsewhere)}
        naming: list[set[str]] = []
        for source, rows in placed.get(through, {}).items():
            stated = _stated(rows)
            lists.setdefault(_says(fibres, main, stated), []).append(source)
            if stated[0] is not None:
                naming.append(stated[0])
        against = {
            origin
            for origin in anatomy.origins
            if 2 * sum((origin in said) != (origin in fibres) for said in naming) > len(naming)
        }
        found.append(
            SupplyEvidence(
                target,
                through,
                _ordered(anatomy, fibres),
                _ordered(anatomy, main),
                exactly=tuple(lists.get("exactly", ())),
                more=tuple(lists.get("more", ())),
                less=tuple(lists.get("less", ())),
                other=tuple(lists["else"]),
                nothing=tuple(lists.get("nothing", ())),
                against=_ordered(anatomy, against),
            )
        )
    return found


def _pairs(anatomy: Anatomy, readings: dict[str, _BySource]) -> tuple[PairAgreement, ...]:
    stated: dict[str, dict[str, set[str]]] = {}
    for target, by_source in readings.items():
        for source, rows in by_source.items():
            fibres, _ = _stated(rows)
            if fibres is not None:
                stated.setdefault(source, {})[target] = fibres
    order = [source.id for source in anatomy.map.sources if source.id in stated]
    order += [source for source in stated if source not in order]
    found = []
    for first, second in combinations(order, 2):
        shared = [target for target in stated[first] if target in stated[second]]
        if not shared:
            continue
        sets = [(stated[first][target], stated[second][target]) for target in shared]
        origins = sorted(set().union(*(one | other for one, other in sets)))
        units = [(name in one, name in other) for one, other in sets for name in origins]
        table = binary_table([one for one, _ in units], [other for _, other in units])
        kappa = cohens_kappa(table)
        found.append(
            PairAgreement(
                first,
                second,
                len(shared),
                len(units),
                sum(one == other for one, other in units) / len(units) if units else 1.0,
                None if kappa != kappa else kappa,
                sum(jaccard(one, other) for one, other in sets) / len(sets),
            )
        )
    return tuple(found)


def _offer(anatomy: Anatomy, target: str, by_source: _BySource) -> Offer:
    sources: dict[tuple[str, Ids], list[str]] = {}
    mains: dict[tuple[str, Ids], Counter[Ids]] = {}
    for source, rows in by_source.items():
        for row in rows:
            if row.fibres is None:
                continue
            key = (row.through, _ordered(anatomy, set(row.fibres)))
            sources.setdefault(key, []).append(source)
            if row.main_fibres:
                main = _ordered(anatomy, set(row.main_fibres))
                mains.setdefault(key, Counter())[main] += 1
    best = max(sources, key=lambda key: len(sources[key]))
    tied = sum(len(found) == len(sources[best]) for found in sources.values()) > 1
    main = mains[best].most_common(1)[0][0] if best in mains else ()
    stated_by = len({source for found in sources.values() for source in found})
    return Offer(target, *best, main, tuple(sources[best]), stated_by, tied)


def _disputes(
    anatomy: Anatomy, target: str, asserted: dict[str, _Asserted], readings: _BySource
) -> tuple[Dispute, ...]:
    supplies = asserted.get(target, {})
    found = []
    for origin in anatomy.origins:
        where = {through for through, (fibres, _) in supplies.items() if origin in fibres}
        named, left_out = [], []
        for source, rows in readings.items():
            stating = [row for row in rows if row.fibres is not None]
            if any(origin in (row.fibres or ()) for row in stating):
                named.append(source)
            # A source silent on the structure that the origin goes through leaves nothing out.
            elif any(not where or not row.through or row.through in where for row in stating):
                left_out.append(source)
        # An origin that nobody but the sources names is disputed if the map asserts others.
        if left_out if where else named and (left_out or supplies):
            found.append(Dispute(target, origin, bool(where), tuple(named), tuple(left_out)))
    return tuple(found)
