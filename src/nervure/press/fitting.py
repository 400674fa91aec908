"""Texts into boxes for one deck: what fits is given as data, what does not is refused.

A `Fitter` gathers refusals, notes and pictures while the cards of a deck are set; it knows
the deck's frame (positions that all cards share) and speaks its language.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from typing import Any

from nervure.press.cards import BonusText, Deck, PartCard, TargetCard
from nervure.typeset.fit import Block, Fit, fit

NAME_SIZES = (15.0, 13.0, 11.5, 10.0, 9.0, 8.0, 7.0)
TEXT_SIZES = (8.0, 7.5, 7.0)
SHORT_WIDTH = 9.2  # of a short form at 7 pt, mm: about six letters
FOOT_HEIGHT = 3.1
BONUS_HEIGHT, NARROW_BONUS_HEIGHT = 7.1, 9.8  # two lines; three on a card as narrow as bridge
NARROW = 52.0  # between the insets


@dataclass(frozen=True, slots=True)
class Refusal:
    """A card that is not printed: which field of it, and the reason as a sentence."""

    card: str
    field: str
    reason: str

    def to_dict(self) -> dict[str, str]:
        """Give the refusal as plain data."""
        return {"card": self.card, "field": self.field, "reason": self.reason}


class Fitter:
    """Fits the texts of a deck's cards. Lengths in mm.

    Attributes
    ----------
    inset, inner
        From the trim to texts, and the width between.
    foot_top, bonus_top
        Where the foot begins, and the bonus on cards that have one.
    node_number, tier_number
        Places in the map drawing and among the deck's tiers, by id.
    short_widths
        Width at 7 pt of every short form in a list or row.
    """

    def __init__(self, deck: Deck) -> None:
        self.deck = deck
        self.inset = deck.safe + 0.5
        self.inner = deck.width - 2 * self.inset
        self.foot_top = deck.height - deck.safe - FOOT_HEIGHT
        self.bonus_height = BONUS_HEIGHT if self.inner >= NARROW else NARROW_BONUS_HEIGHT
        self.bonus_top = self.foot_top - self.bonus_height - 0.3
        self.node_number = {node.id: n for n, node in enumerate(deck.drawing.nodes)}
        self.tier_number = {tier.id: n for n, tier in enumerate(deck.tiers)}
        self.refused: list[Refusal] = []
        self.notes: list[str] = []
        self.pictures: list[str] = []
        self.grouped: dict[str, tuple[str, ...]] = {}
        self.short_widths = _measured_shorts(deck)
        self.head_width = max(
            self.label_width(self.say(f"press.{key}")) for key in ("proximal", "distal")
        )

    def say(self, key: str, **values: object) -> str:
        """Give a sentence of the press in the deck's language."""
        return self.deck.say(key, **values)

    @property
    def fibres(self) -> str:
        """What this map's people say for fibres."""
        return self.deck.words.get("fibres", "fibres")

    def tier_label(self, tier: str) -> str:
        """Give a tier's name for a line in small capitals, where a capital would stand out."""
        name = self.deck.tier(tier).name
        return name[:1].lower() + name[1:] if self.deck.language.startswith("en") else name

    def label_width(self, text: str, size: float = 7.5) -> float:
        """Give the width of a small-caps label, mm; as wide as can be if it lacks a glyph."""
        (found,) = fit([label_block(text, size)])
        return found.width

    def fitted(self, card: str, what: str, *blocks: Block) -> dict[str, Any] | None:
        """Give the data of the first block that fits; else refuse the card by the last one."""
        found: Fit | None = None
        for block in blocks:
            (found,) = fit([block])
            if found.size is not None:
                data = {"size": found.size, "width": found.width, "height": found.height}
                return block.to_data() | data
        assert found is not None, "at least one block is asked for"
        self._refuse_block(card, what, blocks[-1], found)
        return None

    def refuse(self, card: str, what: str, key: str, **values: object) -> None:
        """Refuse a card by one of its fields; ``key`` names the sentence."""
        self.refused.append(Refusal(card, what, self.say(f"press.refused.{key}", **values)))

    def _refuse_block(self, card: str, what: str, block: Block, found: Fit) -> None:
        size = block.sizes[-1]
        if found.reason == "glyph":
            listed = ", ".join(f"{sign!r} (U+{ord(sign):04X})" for sign in found.missing)
            self.refuse(card, what, "glyph", characters=listed)
        elif found.reason == "word":
            longest = max(block.text.split(), key=len)
            self.refuse(card, what, "word", word=longest, width=round(block.width, 1), size=size)
        else:
            height = round(block.height, 1)
            self.refuse(card, what, "height", text=block.text, height=height, size=size)

    def check_short(self, card: str, text: str) -> None:
        """Refuse a card whose short form is wider than its place in a list."""
        (found,) = fit([short_block(text)])
        if found.reason == "glyph":
            self._refuse_block(card, "short", short_block(text), found)
        elif found.size is None:
            (wide,) = fit([_natural(text)])
            width = round(wide.width, 1)
            self.refuse(card, "short", "short", text=text, width=width, most=SHORT_WIDTH)

    def check_line(self, card: str, what: str, text: str, width: float, size: float) -> None:
        """Refuse a card by a small-caps label that does not fit its line."""
        self.fitted(card, what, replace(label_block(text, size), width=width, balanced=False))

    def bonus(self, card: PartCard | TargetCard) -> dict[str, Any] | None:
        """Give the data of a card's bonus, None if it has none or it is refused."""
        if card.bonus is None:
            return None
        return self.fitted(card.id, "bonus", self.bonus_block(card.bonus))

    def bonus_block(self, bonus: BonusText) -> Block:
        """Give a bonus as it stands at the foot of a card: its label, then the sentence."""
        return Block(
            bonus.says,
            "sans",
            TEXT_SIZES,
            self.inner,
            self.bonus_height,
            leading=-0.2,
            lead=bonus.when,
            lead_size=7.0,
        )

    def states(self, card: PartCard | TargetCard) -> list[int]:
        """Give for every origin 0 absent, 1 reaching, 2 main."""
        return [
            2 if name in card.main else 1 if name in card.reached else 0
            for name in self.deck.origins
        ]

    def reached_aloud(self, card: PartCard | TargetCard) -> str:
        """Give the fibres row as a sentence, for those who listen."""
        origins = self.deck.origins
        reached = ", ".join(origins[name] for name in card.reached) or "-"
        main = ", ".join(origins[name] for name in card.main)
        key = "press.alt.reached" if main else "press.alt.reached-plain"
        return self.say(key, fibres=self.fibres.capitalize(), reached=reached, main=main)

    def needs_two_lines(self, card: str, width: float) -> bool:
        """Whether origins' short forms need two lines under a row; refused if two are too few."""
        widths = [self.short_widths[short] for short in self.deck.origins.values()]
        widest, step = max(widths, default=0.0), width / max(1, len(widths))
        if widest + 0.4 > 2 * step:
            self.refuse(card, "fibres", "fibres", count=len(widths), width=round(width, 1))
        return widest + 0.4 > step


def name_block(text: str, width: float, height: float) -> Block:
    """Give a card's name as it is set on top of a card."""
    return Block(text, "serif-semibold", NAME_SIZES, width, height, leading=-0.2, balanced=True)


def short_block(text: str) -> Block:
    """Give a short form as it stands in a list."""
    return Block(text, "sans-semibold", (7.0,), SHORT_WIDTH, 3.6)


def label_block(text: str, size: float) -> Block:
    """Give a small-caps label as ``typeset/blocks.typ`` sets it, on one line."""
    return Block(
        text,
        "sans-semibold",
        (size,),
        width=200.0,
        height=size * 0.6,  # one line of 1.424 em, never two
        balanced=True,
        tracking=0.04,
        small_caps=True,
    )


def _natural(text: str) -> Block:
    return replace(short_block(text), width=200.0, balanced=True)


def _measured_shorts(deck: Deck) -> dict[str, float]:
    shorts = list(dict.fromkeys((*deck.origins.values(), *_listed_shorts(deck))))
    found = fit([_natural(short) for short in shorts])
    return {short: one.width for short, one in zip(shorts, found, strict=True)}


def _listed_shorts(deck: Deck) -> Iterable[str]:
    for card in deck.cards:
        if isinstance(card, PartCard):
            yield from (entry.short for entry in (*card.proximal, *card.distal))
