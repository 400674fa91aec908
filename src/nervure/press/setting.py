"""Where everything on the cards stands and at which size, or why a card is refused.

Comes in: a `Deck`. Goes out: plain data for ``press/cards.typ``, refusals and notes. Every
text is measured by `nervure.typeset.fit` before anything is drawn; sizes never go below 7 pt
(5.5 pt in close rows). Lengths in mm from the top left corner of the trimmed card.
"""

from __future__ import annotations

import hashlib
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace
from itertools import pairwise
from typing import Any

from nervure import words
from nervure.press.cards import (
    BonusText,
    Card,
    Deck,
    DrawnNode,
    PartCard,
    TargetCard,
    VariantCard,
    WildCard,
)
from nervure.press.edges import (
    EMPTY,
    FIBRES_ABOVE_END,
    MAP_GAP,
    TOP,
    EdgeList,
    Room,
    set_edges,
)
from nervure.press.pictures import BadPicture, picture_as_svg
from nervure.typeset.fit import Block, Fit, fit

NAME_SIZES = (15.0, 13.0, 11.5, 10.0, 9.0, 8.0, 7.0)
TEXT_SIZES = (8.0, 7.5, 7.0)
SHORT_WIDTH = 9.2  # of a short form at 7 pt
LEAST_WIDTH, LEAST_HEIGHT = 54.0, 84.0  # a smaller card has no room for its parts

HEADS_TOP, STEM_TOP, STEM_HEIGHT, MAP_TOP = 33.2, 24.6, 6.4, 34.6
NAME_TOP, MARK_ROOM = 8.0, 13.9
TARGET_NAME_TOP, FOOT_HEIGHT, BONUS_HEIGHT = 38.8, 3.1, 7.1
# Room for what a target card tells of its supply, mm: as a rule, and at least.
NOTE_HEIGHTS = {
    "nothing": (19.4, 9.0),
    "origins": (15.4, 14.0),
    "way": (17.8, 12.8),
    "pathways": (20.4, 12.8),
}


@dataclass(frozen=True, slots=True)
class Refusal:
    """A card that is not printed: which field of it, and the reason as a sentence."""

    card: str
    field: str
    reason: str

    def to_dict(self) -> dict[str, str]:
        """Give the refusal as plain data."""
        return {"card": self.card, "field": self.field, "reason": self.reason}


@dataclass(frozen=True)
class SetDeck:
    """A deck ready to be drawn.

    ``cards``: those that are printed, in order, with ``data`` for the templates in the same
    order; ``shared``: what all templates need beside them; ``grouped``: card id -> ids that
    share a row.
    """

    deck: Deck
    cards: tuple[Card, ...]
    data: tuple[dict[str, Any], ...]
    shared: dict[str, Any]
    refused: tuple[Refusal, ...] = ()
    notes: tuple[str, ...] = ()
    grouped: Mapping[str, tuple[str, ...]] = field(default_factory=dict)


def set_deck(deck: Deck) -> SetDeck:
    """Measure and set all cards of a deck; what does not fit is refused, nothing else is."""
    return _Setting(deck).run()


class _Setting:
    def __init__(self, deck: Deck) -> None:
        self.deck = deck
        self.inset = deck.safe + 0.5
        self.inner = deck.width - 2 * self.inset
        self.foot_top = deck.height - deck.safe - FOOT_HEIGHT
        self.bonus_top = self.foot_top - BONUS_HEIGHT - 0.3
        self.node_number = {node.id: n for n, node in enumerate(deck.drawing.nodes)}
        self.tier_number = {tier.id: n for n, tier in enumerate(deck.tiers)}
        self.pictures: list[str] = []
        self.refused: list[Refusal] = []
        self.notes: list[str] = []
        self.grouped: dict[str, tuple[str, ...]] = {}

    def say(self, key: str, **values: object) -> str:
        return words.say(f"press.{key}", self.deck.language, **values)

    def run(self) -> SetDeck:
        deck = self.deck
        if deck.width < LEAST_WIDTH or deck.height < LEAST_HEIGHT:
            sizes = {"least_width": LEAST_WIDTH, "least_height": LEAST_HEIGHT}
            reason = self.say("refused.card-size", width=deck.width, height=deck.height, **sizes)
            refused = tuple(Refusal(card.id, "size", reason) for card in deck.cards)
            return SetDeck(deck, (), (), {}, refused)
        fit(self._first_blocks())  # one run of the typesetter for all texts of the deck
        self.short_widths = self._measured_shorts()
        heads = fit([_label(self.say(key), 7.5) for key in ("proximal", "distal")])
        self.head_width = max(head.width for head in heads)
        title = self._title()
        cards, data = [], []
        for card in deck.cards:
            before = len(self.refused)
            made = self._set(card)
            if len(self.refused) == before:
                cards.append(card)
                data.append(made | {"id": card.id, "title": title})
        return SetDeck(
            deck,
            tuple(cards),
            tuple(data),
            self._shared(),
            tuple(self.refused),
            tuple(self.notes),
            self.grouped,
        )

    # -------------------------------------------------------------- measuring

    def _first_blocks(self) -> Iterable[Block]:
        for card in self.deck.cards:
            yield from self._name_blocks(card)
            if isinstance(card, PartCard | TargetCard):
                yield _short(card.short)
                if card.bonus:
                    yield self._bonus_block(card.bonus)

    def _measured_shorts(self) -> dict[str, float]:
        """Give the width at 7 pt of every short form that can stand in a list or row, mm."""
        shorts = dict.fromkeys(self.deck.origins.values())
        for card in self.deck.cards:
            if isinstance(card, PartCard):
                shorts |= dict.fromkeys(e.short for e in (*card.proximal, *card.distal))
        found = fit([replace(_short(short), width=200.0, balanced=True) for short in shorts])
        return {short: one.width for short, one in zip(shorts, found, strict=True)}

    def _name_of(self, card: Card) -> str:
        if isinstance(card, PartCard | TargetCard):
            return card.name
        if isinstance(card, VariantCard):
            return self.say("variant-name")
        if len(card.tiers) > 1:
            return self.say("wild-any-name")
        return self.say("wild-name", tier=self._tier_label(card.tiers[0]))

    def _name_blocks(self, card: Card) -> tuple[Block, ...]:
        name = self._name_of(card)
        if not isinstance(card, TargetCard):
            return (_name(name, self.inner - MARK_ROOM, 15.4),)
        # One large line, else two or three and the text below moves down, else a small line.
        one = _name(name, self.inner, 7.0)
        return (
            replace(one, sizes=NAME_SIZES[:3]),
            replace(one, height=11.8),
            replace(one, sizes=NAME_SIZES[3:]),
        )

    def _bonus_block(self, bonus: BonusText) -> Block:
        return Block(
            bonus.says,
            "sans",
            TEXT_SIZES,
            self.inner,
            BONUS_HEIGHT,
            leading=-0.2,
            lead=bonus.when,
            lead_size=7.0,
        )

    def _fitted(self, card: str, what: str, *blocks: Block) -> dict[str, Any] | None:
        """Give the data of the first block that fits, else refuse by the last one."""
        found: Fit | None = None
        for block in blocks:
            (found,) = fit([block])
            if found.size is not None:
                return block.to_data() | {
                    "size": found.size,
                    "width": found.width,
                    "height": found.height,
                }
        assert found is not None
        self._refuse(card, what, blocks[-1], found)
        return None

    def _refuse(self, card: str, what: str, block: Block, found: Fit) -> None:
        smallest = block.sizes[-1]
        if found.reason == "glyph":
            listed = ", ".join(f"{sign!r} (U+{ord(sign):04X})" for sign in found.missing)
            reason = self.say("refused.glyph", characters=listed)
        elif found.reason == "word":
            longest = max(block.text.split(), key=len)
            reason = self.say("refused.word", word=longest, width=block.width, size=smallest)
        else:
            reason = self.say(
                "refused.height", text=block.text, height=round(block.height, 1), size=smallest
            )
        self.refused.append(Refusal(card, what, reason))

    def _check_short(self, card: str, text: str) -> None:
        (found,) = fit([_short(text)])
        if found.reason == "glyph":
            self._refuse(card, "short", _short(text), found)
        elif found.size is None:
            (wide,) = fit([replace(_short(text), width=200.0, balanced=True)])
            shown = round(wide.width, 1)
            reason = self.say("refused.short", text=text, width=shown, most=SHORT_WIDTH)
            self.refused.append(Refusal(card, "short", reason))

    def _title(self) -> str:
        copies = max((card.copies for card in self.deck.cards), default=1)
        number = self.say(
            "number",
            version=self.deck.version,
            number=len(self.deck.cards),
            copy=copies,
            copies=copies,
        )
        foot = _label(number, 7.0)
        (wide,) = fit([foot])
        room = self.inner - wide.width - 2.0
        (found,) = fit([replace(foot, text=self.deck.title, width=room, balanced=False)])
        if found.size is None or found.height > wide.height * 1.5:
            self.notes.append(self.say("note.title-left-out", title=self.deck.title))
            return ""
        return self.deck.title

    # ------------------------------------------------------------------ cards

    def _set(self, card: Card) -> dict[str, Any]:
        if isinstance(card, PartCard):
            return self._part(card)
        if isinstance(card, TargetCard):
            return self._target(card)
        if isinstance(card, WildCard):
            return self._wild(card)
        return self._variant(card)

    def _tier_label(self, tier: str) -> str:
        name = self.deck.tier(tier).name
        # In small capitals a capital stands out; other languages keep theirs.
        return name[:1].lower() + name[1:] if self.deck.language.startswith("en") else name

    def _states(self, card: PartCard | TargetCard) -> list[int]:
        return [
            2 if name in card.main else 1 if name in card.reached else 0
            for name in self.deck.origins
        ]

    def _reached_alt(self, card: PartCard | TargetCard) -> str:
        origins = self.deck.origins
        fibres = self.deck.words.get("fibres", "fibres").capitalize()
        reached = ", ".join(origins[name] for name in card.reached) or "-"
        main = ", ".join(origins[name] for name in card.main)
        key = "alt.reached" if main else "alt.reached-plain"
        return self.say(key, fibres=fibres, reached=reached, main=main)

    def _bonus(self, card: PartCard | TargetCard) -> dict[str, Any] | None:
        return self._fitted(card.id, "bonus", self._bonus_block(card.bonus)) if card.bonus else None

    def _part(self, card: PartCard) -> dict[str, Any]:
        deck = self.deck
        foot = self.bonus_top if card.bonus else self.foot_top
        fibres_top = foot - 9.8 if card.bonus else deck.height - FIBRES_ABOVE_END
        list_end = foot - (0.6 if card.bonus else 1.2)
        room = Room(deck.width - 2 * deck.safe, list_end, fibres_top - 0.8, self.head_width)
        left, right = set_edges(card.proximal, card.distal, room, self.short_widths)
        self._note_lists(card, left, right)
        self._check_short(card.id, card.short)
        span = self._map_span(left, right)
        fibres_left, fibres_width = self._fibres_span(left, right, fibres_top)
        rooted = card.id in deck.origins and not card.proximal
        return {
            "type": "part",
            "class": self._tier_label(card.tier),
            "name": self._fitted(card.id, "name", *self._name_blocks(card)),
            "mark": deck.tier(card.tier).mark,
            "tier": self.tier_number[card.tier],
            "short": card.short,
            "proximal": _edge_data(left),
            "distal": _edge_data(right),
            "rootlets": (0.24 if span[0] < 15 else 1.0) if rooted else 0,
            "lit": [self.node_number[card.id]],
            "near": list(card.near),
            "fibres": self._states(card),
            "map_left": span[0],
            "map_width": span[1],
            "map_height": fibres_top - MAP_TOP - 0.9,
            "fibres_left": fibres_left,
            "fibres_width": fibres_width,
            "fibres_top": fibres_top,
            "map_alt": self.say(
                "alt.part", name=card.name, fibres=deck.words.get("fibres", "fibres")
            ),
            "fibres_alt": self._reached_alt(card),
            "stagger": self._is_tight(fibres_width),
            "bonus": self._bonus(card),
        }

    def _is_tight(self, width: float) -> bool:
        """Whether the origins' short forms need two lines under a fibres row of a width."""
        widths = [self.short_widths[short] for short in self.deck.origins.values()]
        return max(widths, default=0.0) > width / max(1, len(widths)) - 0.4

    def _usual_span(self) -> tuple[float, float]:
        return 17.5, self.deck.width - 35.0

    def _map_span(self, left: EdgeList, right: EdgeList) -> tuple[float, float]:
        """Give left edge and width of the map: the usual ones, or what the lists leave."""
        start, width = self._usual_span()
        first = self.deck.safe + left.width
        last = self.deck.width - self.deck.safe - right.width
        if first <= start and start + width <= last:
            return start, width
        first, last = max(first, self.inset), min(last, self.deck.width - self.inset)
        most = min(width, last - first)
        return (first + last - most) / 2, most

    def _fibres_span(self, left: EdgeList, right: EdgeList, top: float) -> tuple[float, float]:
        """Give left edge and width of the fibres row: as on a target card where lists end above.

        An inner column always ends above it, an outer one may reach down beside it.
        """
        first, last = self.inset, self.deck.width - self.inset
        if left.end() > top - 0.4:
            first += left.width if right is EMPTY else left.widths[-1] + MAP_GAP
        if right.end() > top - 0.4:
            last -= right.width if left is EMPTY else right.widths[-1] + MAP_GAP
        return first, last - first

    def _note_lists(self, card: PartCard, left: EdgeList, right: EdgeList) -> None:
        if left.is_close or right.is_close:
            self.notes.append(self.say("note.close", card=card.id))
        for group in (*left.grouped, *right.grouped):
            members = tuple(entry.id for entry in group.members)
            self.grouped[card.id] = self.grouped.get(card.id, ()) + members
            count, short = len(members), group.entry.short
            self.notes.append(self.say("note.grouped", card=card.id, count=count, short=short))

    def _wild(self, card: WildCard) -> dict[str, Any]:
        single = len(card.tiers) == 1
        key = "wild-says" if single else "wild-any-says"
        says = self.say(key, tier=self._tier_label(card.tiers[0]))
        map_height = self.foot_top - 45.5 - 2.5
        lit = [pair for pair in enumerate(self.deck.drawing.nodes) if pair[1].tier in card.tiers]
        return {
            "type": "wild",
            "class": self.say("wild-class"),
            "name": self._fitted(card.id, "name", *self._name_blocks(card)),
            "short": self.say("wild-short"),
            "tiers": [self.tier_number[tier] for tier in card.tiers],
            "marks": [self.deck.tier(tier).mark for tier in card.tiers],
            "says": self._says(card.id, says, 11.0),
            "lit": [n for n, _ in lit],
            "lit_size": min(1.1, max(0.45, 0.42 * _smallest_step(lit) * map_height)),
            "map_height": map_height,
            "map_alt": self.say("alt.wild"),
        }

    def _variant(self, card: VariantCard) -> dict[str, Any]:
        return {
            "type": "variant",
            "class": self.say("variant-class"),
            "name": self._fitted(card.id, "name", *self._name_blocks(card)),
            "short": self.say("variant-short"),
            "says": self._says(card.id, self.say("variant-says"), 14.0),
        }

    def _says(self, card: str, text: str, height: float) -> dict[str, Any] | None:
        return self._fitted(card, "text", Block(text, "sans", (8.5,), self.deck.width - 16, height))

    def _target(self, card: TargetCard) -> dict[str, Any]:
        deck = self.deck
        shows = deck.targets_show
        foot = self.bonus_top if card.bonus else self.foot_top
        usual, least = NOTE_HEIGHTS[shows]
        self._check_short(card.id, card.short)
        name, examined = self._name_and_examined(card, foot - least - 0.6)
        examined_top = TARGET_NAME_TOP + (name["height"] if name else 0.0) + 0.5
        text_end = examined_top + (examined["height"] if examined else 0.0)
        note_height = min(usual, foot - 0.6 - text_end - 2.3)
        note_top = foot - note_height - 0.6
        ends = [self.node_number[end] for end in card.ends]
        heights = [deck.drawing.nodes[n].place[1] for n in ends]
        lit = shows == "pathways"
        fibres = deck.words.get("fibres", "fibres")
        return {
            "type": "target",
            "class": self.say("target-class", kind=self.say(f"kind.{card.kind}")),
            "kind": card.kind,
            "name": name,
            "examined": examined,
            "examined_top": examined_top,
            "points": list(card.points),
            "first": card.first_rung,
            "picture": self._picture(card),
            "growth": _growth(card.id),
            "picture_alt": self.say("alt.picture", name=card.name),
            "shows": shows,
            "note_top": note_top,
            "note_height": note_height,
            "note_label": self.say("way-label") if shows == "way" else fibres,
            "fibres": self._states(card),
            "fibres_alt": self._reached_alt(card),
            "reached": [
                {"short": deck.origins[name], "main": name in card.main} for name in card.reached
            ],
            "way": [_row(entry.mark, entry.short) for entry in card.way],
            "hot": list(card.lit) if lit else [],
            "ends": ends if lit else [],
            # Unlit, the target stands at half height: its place gives nothing away.
            "tip": sum(heights) / len(heights) if lit and heights else 0.5,
            "map_alt": self.say("alt.lit" if lit else "alt.unlit", name=card.name),
            "bonus": self._bonus(card),
        }

    def _name_and_examined(
        self, card: TargetCard, end: float
    ) -> tuple[dict[str, Any] | None, dict[str, Any] | None]:
        """Set name and text together above ``end``: the largest name that leaves room for both."""
        if not card.examined:
            return self._fitted(card.id, "name", *self._name_blocks(card)), None
        blocks = self._name_blocks(card)
        last = None
        for block, found in zip(blocks, fit(blocks), strict=True):
            if found.size is None:
                continue
            room = end - 2.3 - (TARGET_NAME_TOP + found.height + 0.5)
            last = self._examined_block(card, room)
            if fit([last])[0].size is not None:
                break
        else:
            if last is None:
                return self._fitted(card.id, "name", *blocks), None
        return self._fitted(card.id, "name", block), self._fitted(card.id, "examined", last)

    def _examined_block(self, card: TargetCard, height: float) -> Block:
        return Block(
            card.examined,
            "sans",
            TEXT_SIZES,
            self.inner,
            height,
            leading=-0.1,
            lead=self.say("examined"),
            lead_size=7.5,
        )

    def _picture(self, card: TargetCard) -> int | None:
        if card.picture is None:
            return None
        try:
            self.pictures.append(picture_as_svg(card.picture))
        except BadPicture as bad:
            reason = self.say(f"refused.{bad.code}", **bad.details)
            self.refused.append(Refusal(card.id, "picture", reason))
            return None
        return len(self.pictures) - 1

    # ------------------------------------------------------------ shared data

    def _shared(self) -> dict[str, Any]:
        deck = self.deck
        origins = list(deck.origins.values())
        return {
            "language": deck.language,
            "palette": deck.palette.to_data(),
            "width": deck.width,
            "height": deck.height,
            "bleed": deck.bleed,
            "safe": deck.safe,
            "corner": deck.corner,
            "footer_top": self.foot_top,
            "bonus_top": self.bonus_top,
            "heads_top": HEADS_TOP,
            "rows_top": TOP,
            "stem_top": STEM_TOP,
            "stem_height": STEM_HEIGHT,
            "map_top": MAP_TOP,
            "tiers": len(deck.tiers),
            "tier_words": _tier_words(deck),
            "origins": origins,
            "labels": {
                key: self.say(key) for key in ("proximal", "distal", "points", "part", "target")
            },
            "drawing": _drawing_data(deck, self.node_number),
            "pictures": self.pictures,
        }


def _smallest_step(nodes: list[tuple[int, DrawnNode]]) -> float:
    """Give the smallest distance of two nodes of one column, in heights of the drawing."""
    places = sorted(node.place for _, node in nodes)
    steps = (b[1] - a[1] for a, b in pairwise(places) if a[0] == b[0])
    return min(steps, default=1.0)


def _growth(name: str) -> list[float]:
    """Give four numbers from 0 to 1 that let the leaf of a card grow in its own way."""
    return [round(byte / 255, 3) for byte in hashlib.sha256(name.encode()).digest()[:4]]


def _name(text: str, width: float, height: float) -> Block:
    return Block(text, "serif-semibold", NAME_SIZES, width, height, leading=-0.2, balanced=True)


def _short(text: str) -> Block:
    return Block(text, "sans-semibold", (7.0,), SHORT_WIDTH, 3.6)


def _label(text: str, size: float) -> Block:
    """Give a small-caps label as `typeset/blocks.typ` sets it, for its width."""
    return Block(
        text,
        "sans-semibold",
        (size,),
        width=200.0,
        height=5.0,
        balanced=True,
        tracking=0.04,
        small_caps=True,
    )


def _row(mark: str, short: str) -> dict[str, str]:
    return {"mark": mark, "short": short}


def _edge_data(side: EdgeList) -> dict[str, Any]:
    look = side.look
    return {
        "columns": [[_row(entry.mark, entry.short) for entry in rows] for rows in side.columns],
        "pitch": look.pitch,
        "mark": look.mark,
        "text": look.text,
        "offset": look.offset,
        "shifts": [side.shift(column) for column in range(len(side.columns))],
    }


def _tier_words(deck: Deck) -> list[str]:
    """Give the name printed beside each of the six marks, blank where the deck lacks it."""
    by_mark = {tier.mark: tier.name for tier in deck.tiers}
    return [by_mark.get(mark, "") for mark in deck.palette.tiers]


def _drawing_data(deck: Deck, numbers: Mapping[str, int]) -> dict[str, Any]:
    return {
        "nodes": [{"place": _rounded(node.place)} for node in deck.drawing.nodes],
        "veins": [
            {
                "n": vein.fibres,
                "points": [_rounded(point) for point in vein.points],
                "within": vein.within_tier,
                "start": numbers[vein.start],
                "end": numbers[vein.end],
            }
            for vein in deck.drawing.veins
        ],
    }


def _rounded(point: tuple[float, float]) -> list[float]:
    return [round(point[0], 5), round(point[1], 5)]
