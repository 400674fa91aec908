"""What things are called at a table: cards, strands, targets, lists, by the map's own words."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence

from nervure import words
from nervure.engine import TableStrand
from nervure.game import Game
from nervure.game.deck import VARIANT, WILD_ANY

ANY_ON_TIER = f"{WILD_ANY}@"
WILD_PREFIX = "wild:"


class Naming:
    """The names of one game, in its language."""

    def __init__(self, game: Game) -> None:
        self.game = game
        self.language = game.folder.language
        rows = game.anatomy.map
        self._structures = {row.id: row for row in rows.structures}
        self._targets = {row.id: row for row in rows.targets}
        self._tiers = {row.id: row for row in rows.tiers}
        origin = game.words["origin"]
        fibres = game.words["fibres"]
        self._own_words = {
            "fibre": game.words["fibre"],
            "fibres": fibres,
            "Fibres": fibres[:1].upper() + fibres[1:],
            "origin": origin,
            "origins": game.words.get("origins", f"{origin}s"),
        }

    def tell(self, key: str, **values: object) -> str:
        """Give a text of ``table.KEY`` with the map's own words filled in."""
        return words.say(f"table.{key}", self.language, **self._own_words, **values)

    def card(self, kind: str) -> str:
        """Give the name of a hand kind or placed kind."""
        if kind in self._structures:
            return self._structures[kind].name
        if kind == VARIANT:
            return self.tell("card.variant")
        if kind == WILD_ANY:
            return self.tell("card.wild-any")
        if kind.startswith(ANY_ON_TIER):
            tier = self._tiers[kind.removeprefix(ANY_ON_TIER)]
            return self.tell("card.wild-any-as", tier=tier.name)
        return self.tell("card.wild", tier=self._tiers[kind.removeprefix(WILD_PREFIX)].name)

    def short(self, kind: str) -> str:
        """Give the short name of a structure; the full one where there is none."""
        row = self._structures.get(kind)
        return (row.short or row.name) if row else self.card(kind)

    def origin(self, id: str) -> str:
        """Give what the fibres of an origin are called."""
        return self.short(id)

    def tier(self, id: str) -> str:
        """Give the name of a tier."""
        return self._tiers[id].name

    def target(self, id: str) -> str:
        """Give the name of a target."""
        return self._targets[id].name

    def listing(self, names: Iterable[str], last: str = "and") -> str:
        """Join names: commas, and the last one by a word; a dash for none."""
        held = list(names)
        if not held:
            return self.tell("list.none")
        if len(held) == 1:
            return held[0]
        return self.tell("list.comma").join(held[:-1]) + self.tell(f"list.{last}") + held[-1]

    def origins(self, ids: Iterable[str]) -> str:
        """List origins, in the map's order."""
        held = set(ids)
        return self.listing(self.origin(id) for id in self.game.anatomy.origins if id in held)

    def cards(self, kinds: Iterable[str]) -> str:
        """List cards."""
        return self.listing(self.card(kind) for kind in kinds)

    def counted(self, cards: Mapping[str, int]) -> str:
        """List cards with how many there are of each."""
        return self.listing(
            self.card(kind)
            if count == 1
            else self.tell("list.times", count=count, card=self.card(kind))
            for kind, count in cards.items()
        )

    def strand(self, slots: Sequence[str | None]) -> str:
        """Give a strand, proximal to distal."""
        return self.tell("list.strand").join(self.card(slot) for slot in slots if slot is not None)

    def table_strand(self, strand: TableStrand) -> str:
        """Give a strand on the table, its gap marked."""
        if not strand.gap:
            return self.strand(strand.slots)
        return self.tell(
            "list.gap",
            proximal=self.strand(strand.slots[: strand.gap]),
            distal=self.strand(strand.slots[strand.gap :]),
        )

    def says(self, bonus: str) -> str:
        """Give what a bonus says on its card."""
        # Late: the sentences of the rules are wanted only where a game has bonuses.
        from nervure.game import bonus_sentence

        return bonus_sentence(self.game, self.game.bonus(bonus), self.language)
