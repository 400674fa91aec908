"""``out/check.html``: what is in order, what needs attention, and the map as a leaf."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from functools import cached_property

from markupsafe import Markup

from nervure import words
from nervure.errors import Fault
from nervure.report.check_record import CheckRecord
from nervure.report.check_sources import Drawer, drawers_of
from nervure.report.check_targets import TargetRow, strand_lengths, target_rows
from nervure.report.leaf import LeafStyle, draw_leaf
from nervure.report.leaf_facts import pathway_count, variant_lanes
from nervure.report.marks import mark_of_tier
from nervure.report.pages import Step, amount, render

SHOWN_IN_A_FILE = 10
SHOWN_PAIRS = 10
LEAF = "leaf"


@dataclass(frozen=True, slots=True)
class Route:
    """Pathways alike but for their origin: fibres with whether main, the rest of the way."""

    fibres: tuple[tuple[str, bool], ...]
    names: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Ways:
    """All pathways of one target."""

    place: int
    name: str
    test: str
    count: int
    routes: tuple[Route, ...]


@dataclass(frozen=True, slots=True)
class FaultGroup:
    """Faults of one level in one file: place and sentence apart."""

    file: str
    rows: tuple[tuple[str, str, str], ...]


def check_page(record: CheckRecord) -> str:
    """Give the page of a check as HTML that holds everything it needs.

    Parameters
    ----------
    record
        From `nervure.report.check_record`.
    """
    return _Page(record).filled()


class _Page:
    """The page's parts, each worked out from the record."""

    def __init__(self, record: CheckRecord) -> None:
        self.record, self.anatomy, self.game = record, record.anatomy, record.game
        self.language = record.game.folder.language
        map_ = self.anatomy.map
        self.name = {row.id: row.name for row in map_.structures}
        self.name |= {row.id: row.name for row in map_.targets}
        self.short = {row.id: row.short or row.name for row in map_.structures}
        self.errors = [fault for fault in record.faults if fault.level == "error"]
        self.warnings = [fault for fault in record.faults if fault.level == "warning"]

    def say(self, key: str, **values: object) -> str:
        given = {**self.game.words, **values}
        return words.say(key, self.language, **given)

    def amount(self, key: str, count: int, **values: object) -> str:
        return amount(key, count, self.language, **{**self.game.words, **values})

    def filled(self) -> str:
        doubted = frozenset(
            (target, dispute.origin)
            for target, disputes in self.record.evidence.disputes.items()
            for dispute in disputes
        )
        style = LeafStyle(
            title=self.game.title,
            doubted=doubted,
            map_words=self.game.words,
            language=self.language,
            key=LEAF,
        )
        leaf = draw_leaf(self.anatomy, style)
        ways = list(self.ways(leaf.targets))
        exact = self.record.exact
        pairs = sorted(self.record.evidence.pairs, key=lambda pair: (-pair.targets, pair.first))
        return render(
            "check.html",
            title=self.say("check.title"),
            game=self.game.title,
            language=self.language,
            steps=self.steps,
            marks=[mark_of_tier(tier, self.anatomy.map) for tier in self.anatomy.map.tiers],
            css=leaf.css + "\n" + _ways_css(len(ways)),
            record=self.record,
            map_words=dict(self.game.words),
            name=self.name,
            order=self.in_order,
            attention=self.attention,
            following=self.following,
            leaf=Markup(leaf.svg),
            has_doubts=bool(doubted),
            has_variants=bool(variant_lanes(self.anatomy)),
            ways=ways,
            fault_groups=[
                (level, list(_groups(found)))
                for level, found in (("error", self.errors), ("warning", self.warnings))
                if found
            ],
            shown_in_a_file=SHOWN_IN_A_FILE,
            drawers=self.drawers,
            offers=self.record.evidence.offers,
            short=self.short,
            pairs=pairs,
            shown_pairs=SHOWN_PAIRS,
            unseen=[row.id for row in self.anatomy.map.sources if row.how_obtained != "looked up"],
            exact=exact,
            target_rows=self.target_rows,
            lengths=strand_lengths(exact),
            joined_count=0
            if exact is None
            else sum(count for cards, count in exact.legal_strands.items() if cards > 1),
            command=f"nervure check {self.game.folder.path.name} --review FILE",
        )

    @cached_property
    def drawers(self) -> list[Drawer]:
        return drawers_of(self.anatomy, self.record.evidence)

    @property
    def contradicted(self) -> list[Drawer]:
        return [drawer for drawer in self.drawers if drawer.is_contradicted]

    @cached_property
    def target_rows(self) -> list[TargetRow]:
        return target_rows(self.record.exact, self.anatomy.map)

    @cached_property
    def end_is_certain(self) -> bool:
        exact = self.record.exact
        return exact is None or all(found.verdict == "certain" for found in exact.ending)

    @cached_property
    def steps(self) -> list[Step]:
        exact = self.record.exact
        states = {
            "map": any(fault.place.file.startswith("map") for fault in self.errors),
            "faults": bool(self.errors),
            "sources": bool(self.contradicted) or bool(self.record.evidence.offers),
            "targets": exact is None or bool(exact.unclaimable),
            "strands": exact is None or bool(exact.untrue_strands.count),
            "end": not self.end_is_certain or exact is None,
        }
        return [
            Step(self.say(f"check.step.{part}"), f"#{part}", "attention" if bad else "order")
            for part, bad in states.items()
        ]

    @property
    def in_order(self) -> list[str]:
        map_, exact = self.anatomy.map, self.record.exact
        found = [
            self.say(
                "check.standing.map",
                structures=self.amount("check.standing.structures", len(map_.structures)),
                targets=self.amount("check.standing.targets", len(map_.targets)),
            ),
            self.amount("check.standing.pathways", pathway_count(self.anatomy)),
        ]
        if self.anatomy.variants:
            names = {row.id: row.name for row in map_.variants}
            taken = ", ".join(names.get(variant, variant) for variant in self.anatomy.variants)
            found.append(self.say("check.standing.variants", names=taken))
        if self.drawers and not self.contradicted:
            found.append(self.amount("check.standing.disputes", len(self.drawers)))
        if exact is not None:
            found.append(
                self.say("check.standing.deck", parts=exact.part_cards, targets=exact.target_cards)
            )
            if not exact.untrue_strands.count:
                found.append(self.say("check.standing.true"))
        return found

    @property
    def attention(self) -> list[tuple[str, str, bool]]:
        """Give what needs attention: link, words, whether it is an error."""
        exact = self.record.exact
        untrue = exact.untrue_strands.count if exact is not None else 0
        counted = (
            ("errors", "#faults", len(self.errors)),
            ("warnings", "#faults", len(self.warnings)),
            ("contradicted", "#sources", len(self.contradicted)),
            ("offers", "#sources", len(self.record.evidence.offers)),
            ("untrue", "#strands", untrue),
        )
        found = [
            (link, self.amount(f"check.standing.{key}", count), key == "errors")
            for key, link, count in counted
            if count
        ]
        if not self.end_is_certain:
            found.append(("#end", self.say("check.standing.end"), False))
        return found

    @property
    def following(self) -> str:
        if self.errors:
            return self.say("check.standing.mend", place=self.errors[0].place)
        if self.record.evidence.offers:
            offered = self.record.evidence.offers[0].target
            return self.say("check.standing.assert", target=self.name.get(offered, offered))
        if self.contradicted:
            return self.say("check.standing.settle", target=self.contradicted[0].name)
        return self.say("check.standing.playtest")

    def ways(self, targets: Iterable[str]) -> Iterator[Ways]:
        """Give the pathways of every target in the order of the leaf."""
        for place, target in enumerate(targets):
            routes: dict[tuple[str, ...], dict[str, bool]] = {}
            pathways = self.anatomy.pathways(target)
            for pathway in pathways:
                fibres = routes.setdefault(pathway.structures[1:], {})
                fibres[pathway.origin] = fibres.get(pathway.origin, False) or pathway.main
            yield Ways(
                place,
                self.name[target],
                self.anatomy.target(target).test,
                len({pathway.structures for pathway in pathways}),
                tuple(
                    Route(
                        tuple((self.short[fibre], main) for fibre, main in fibres.items()),
                        tuple(self.name[structure] for structure in structures),
                    )
                    for structures, fibres in routes.items()
                ),
            )


def _groups(faults: Iterable[Fault]) -> Iterator[FaultGroup]:
    by_file: dict[str, list[Fault]] = {}
    for fault in faults:
        by_file.setdefault(fault.place.file, []).append(fault)
    for file, found in by_file.items():
        yield FaultGroup(
            file,
            tuple(
                (
                    "" if fault.place.row is None else str(fault.place.row),
                    fault.place.column or "",
                    fault.message.removeprefix(f"{fault.place}: "),
                )
                for fault in found
            ),
        )


def _ways_css(count: int) -> str:
    """Give the rules that show a target's pathways beside the leaf while it is lit."""
    pointed = ".t:is(:hover,:focus-visible)"
    return "\n".join(
        f".spread:has(#{LEAF}-t{place}:is(:hover,:focus-visible)) #way{place},"
        f".spread:not(:has({pointed})):has(#{LEAF}-t{place}:target) #way{place}{{display:block}}"
        for place in range(count)
    )
