"""From a game to the cards of its deck: what each card says, nothing about how it looks.

Lists follow ``parts_show`` so that the printed test referees a strand: a card lists every
structure with which it can stand in one joined strand, and marks the origins of the pathways
that run through it. `Game.prints` decides both, for the cards as for the test itself.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping
from functools import cached_property
from itertools import pairwise

from nervure import words
from nervure.anatomy import Pathway
from nervure.anatomy.layout import lay_out
from nervure.game import Game, bonus_sentence
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
        self.prints = game.prints
        self._main_only = game.rules.supply == "main"
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
            sentences=game.folder.sentences,
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
        main = {pathway.origin for pathway in through if pathway.main}
        steps = {step for pathway in through for step in self._steps(pathway)}
        own = self.tier_place[structure.tier]
        partners = self.prints.part_lists(name)
        proximal = [self._entry(other) for other in partners if self._tier_at(other) < own]
        distal = [self._entry(other) for other in partners if self._tier_at(other) > own]
        distal += [self._target_entry(target) for target in self.prints.part_lists_targets(name)]
        return PartCard(
            id=name,
            name=structure.name,
            short=structure.short,
            tier=structure.tier,
            copies=copies,
            proximal=tuple(proximal),
            distal=tuple(distal),
            reached=self.prints.origins_of_part[name],
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
        key = f"press.bonus.{bonus.when}"
        label = self.game.folder.sentences.get(key) or words.say(key, self.language)
        return BonusText(label, bonus_sentence(self.game, bonus, self.language))

    # -------------------------------------------------------------- target cards

    def _target_card(self, name: str) -> TargetCard:
        target = self.anatomy.target(name)
        lit = [way for way in self.anatomy.pathways(name) if way.main or not self._main_only]
        steps = {step for pathway in lit for step in self._steps(pathway)}
        last = {self._on_deck(pathway)[-1:] for pathway in lit}
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
            reached=self.prints.origins_of_target[name],
            main=self.prints.main_origins_of_target[name],
            way=tuple(self._entry(other) for other in self.prints.way_of_target[name]),
            lit=self._vein_numbers(steps),
            ends=tuple(end for ends in sorted(last) for end in ends),
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
