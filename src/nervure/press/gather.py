"""From a game to the cards of its deck: what each card says, nothing about how it looks.

Lists follow ``parts_show`` so that the printed test referees a strand: a card lists every
structure with which it can stand in one joined strand, and marks the origins of the pathways
that run through it (docs/rules.md, Strands).
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping
from functools import cached_property
from itertools import combinations, pairwise

from nervure import words
from nervure.anatomy import Pathway
from nervure.anatomy.layout import lay_out
from nervure.game import Game
from nervure.press.cards import (
    BonusText,
    Card,
    Credit,
    Deck,
    DeckTier,
    DrawnNode,
    DrawnVein,
    Entry,
    MapDrawing,
    PartCard,
    TargetCard,
    VariantCard,
    WildCard,
)
from nervure.typeset.palette import PALETTES

VARIANT = "variant"
WILD_ANY = "wild:any"


def gather_deck(game: Game) -> Deck:
    """Give all cards of a game: part cards in the order of its hand kinds, then targets."""
    return _Gathering(game).deck()


class _Gathering:
    def __init__(self, game: Game) -> None:
        self.game = game
        self.anatomy = game.anatomy
        self.language = game.folder.language or words.FALLBACK
        self.structure_order = {name: place for place, name in enumerate(game.structures)}
        self.tier_place = {tier: place for place, tier in enumerate(game.tiers)}
        self.picture_of = {picture.card: picture for picture in game.folder.art}

    def deck(self) -> Deck:
        game = self.game
        look = game.look
        width, height = look.trim
        cards = [self._hand_card(kind) for kind in game.hand_kinds if game.copies[kind]]
        cards += [self._target_card(name) for name in game.targets]
        return Deck(
            title=game.title,
            version=game.version,
            language=self.language,
            tiers=self.tiers,
            origins={name: self.anatomy.structure(name).short for name in self.anatomy.origins},
            cards=tuple(cards),
            drawing=self.drawing,
            targets_show=game.rules.targets_show,
            width=width,
            height=height,
            bleed=look.bleed,
            safe=look.safe,
            corner=look.corner,
            palette=PALETTES[look.palette],
            words=dict(game.words),
            sources=tuple(source.citation for source in self.anatomy.map.sources),
            credits=self._credits(),
        )

    @cached_property
    def tiers(self) -> tuple[DeckTier, ...]:
        known = {tier.id: tier for tier in self.anatomy.map.tiers}
        return tuple(DeckTier(id, known[id].name, known[id].mark) for id in self.game.tiers)

    # ---------------------------------------------------------------- part cards

    def _hand_card(self, kind: str) -> Card:
        copies = self.game.copies[kind]
        if kind == VARIANT:
            return VariantCard(kind, copies)
        if kind == WILD_ANY:
            return WildCard(kind, tuple(self.game.tiers), copies)
        if kind.startswith("wild:"):
            return WildCard(kind, (kind.removeprefix("wild:"),), copies)
        return self._part_card(kind, copies)

    def _part_card(self, name: str, copies: int) -> PartCard:
        structure = self.anatomy.structure(name)
        through = self.pathways_through[name]
        reached = {pathway.origin for pathway in through}
        main = {pathway.origin for pathway in through if pathway.main}
        steps = {step for pathway in through for step in self._steps(pathway)}
        own = self.tier_place[structure.tier]
        partners = sorted(self.partners[name], key=self.structure_order.__getitem__)
        proximal = [self._entry(other) for other in partners if self._tier_at(other) < own]
        distal = [self._entry(other) for other in partners if self._tier_at(other) > own]
        if self.game.rules.parts_show == "links-and-targets":
            distal += [self._target_entry(target) for target in self.targets_through[name]]
        if self.game.rules.parts_show == "nothing":
            proximal, distal = [], []
        return PartCard(
            id=name,
            name=structure.name,
            short=structure.short,
            tier=structure.tier,
            copies=copies,
            proximal=tuple(proximal),
            distal=tuple(distal),
            reached=self._in_order(reached),
            main=self._in_order(main),
            near=self._vein_numbers(steps),
            bonus=self._bonus(name),
        )

    def _tier_at(self, name: str) -> int:
        return self.tier_place[self.anatomy.tier_of(name)]

    def _on_deck(self, pathway: Pathway) -> tuple[str, ...]:
        return tuple(name for name in pathway.structures if name in self.structure_order)

    def _steps(self, pathway: Pathway) -> Iterable[tuple[str, str]]:
        return pairwise(self._on_deck(pathway))

    @cached_property
    def pathways_through(self) -> Mapping[str, list[Pathway]]:
        through: dict[str, list[Pathway]] = defaultdict(list)
        for pathway in self.anatomy.all_pathways:
            for name in self._on_deck(pathway):
                through[name].append(pathway)
        return through

    @cached_property
    def partners(self) -> Mapping[str, set[str]]:
        """Structure -> those that can stand with it in one joined strand of the deck."""
        found: dict[str, set[str]] = defaultdict(set)
        for strand in self.game.joined_strands:
            for one, other in combinations(strand, 2):
                found[one].add(other)
                found[other].add(one)
        return found

    @cached_property
    def targets_through(self) -> Mapping[str, tuple[str, ...]]:
        """Structure -> targets of the game with a pathway that ends in it on deck tiers."""
        ending: dict[str, set[str]] = defaultdict(set)
        for target in self.game.targets:
            for name in self.game.strands.last_of[target]:
                ending[name].add(target)
        return {
            name: tuple(target for target in self.game.targets if target in ending[name])
            for name in self.game.structures
        }

    def _entry(self, name: str) -> Entry:
        structure = self.anatomy.structure(name)
        mark = next(tier.mark for tier in self.tiers if tier.id == structure.tier)
        return Entry(name, structure.tier, f"tier-{mark}", structure.short)

    def _target_entry(self, name: str) -> Entry:
        target = self.anatomy.target(name)
        return Entry(name, f"kind:{target.kind}", f"target-{target.kind}", target.short)

    def _in_order(self, origins: set[str]) -> tuple[str, ...]:
        return tuple(name for name in self.anatomy.origins if name in origins)

    def _bonus(self, card: str) -> BonusText | None:
        if card not in self.game.bonus_of:
            return None
        bonus = self.game.bonus(self.game.bonus_of[card])
        label = words.say(f"press.bonus.{bonus.when}", self.language)
        return BonusText(label, bonus.says or self._derived(bonus.id))

    def _derived(self, bonus_id: str) -> str:
        return ""

    # -------------------------------------------------------------- target cards

    def _target_card(self, name: str) -> TargetCard:
        target = self.anatomy.target(name)
        pathways = self.anatomy.pathways(name)
        steps = {step for pathway in pathways for step in self._steps(pathway)}
        last = sorted(self.game.strands.last_of[name], key=self.structure_order.__getitem__)
        picture = self.picture_of.get(name)
        return TargetCard(
            id=name,
            name=target.name,
            short=target.short,
            kind=target.kind,
            examined=target.test,
            copies=self.game.target_copies[name],
            points=tuple(self.game.points_of[name]),
            first_rung=max(1, self.game.rules.claim_minimum),
            reached=self._in_order({pathway.origin for pathway in pathways}),
            main=self._in_order({pathway.origin for pathway in pathways if pathway.main}),
            way=tuple(self._entry(other) for other in last),
            lit=self._vein_numbers(steps),
            ends=tuple(last),
            bonus=self._bonus(name),
            picture=picture.file if picture else None,
        )

    # ------------------------------------------------------------------ the map

    @cached_property
    def drawing(self) -> MapDrawing:
        layout = lay_out(self.anatomy, self.game.structures, ())
        nodes = tuple(
            DrawnNode(name, self.anatomy.tier_of(name), (node.x, node.y))
            for name, node in layout.nodes.items()
        )
        veins = tuple(
            DrawnVein(vein.start, vein.end, len(vein.fibres), vein.points, vein.within_tier)
            for vein in layout.veins
            if not vein.is_supply
        )
        return MapDrawing(nodes, veins)

    def _vein_numbers(self, steps: set[tuple[str, str]]) -> tuple[int, ...]:
        return tuple(
            number
            for number, vein in enumerate(self.drawing.veins)
            if (vein.start, vein.end) in steps
        )

    def _credits(self) -> tuple[Credit, ...]:
        return tuple(
            Credit(
                picture.card,
                picture.file.name,
                picture.author or "",
                picture.licence or "",
                picture.changes or "",
            )
            for picture in self.game.folder.art
        )
