"""Where everything on the cards stands and at which size, or why a card is refused.

Comes in: a `Deck`. Goes out: plain data for ``press/cards.typ``, refusals and notes. Every
text is measured by `nervure.typeset.fit` before anything is drawn; sizes never go below 7 pt
(5.5 pt in close rows). Lengths in mm from the top left corner of the trimmed card.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace
from typing import Any

from nervure import words
from nervure.press.cards import BonusText, Card, Deck, PartCard, TargetCard, VariantCard, WildCard
from nervure.press.edges import EMPTY, FIBRES_ABOVE_END, TOP, EdgeList, Room, set_edges
from nervure.press.pictures import BadPicture, picture_as_svg
from nervure.typeset.fit import Block, Fit, fit

NAME_SIZES = (15.0, 13.0, 11.5, 10.0, 9.0, 8.0, 7.0)
TEXT_SIZES = (8.0, 7.5, 7.0)
SHORT_WIDTH = 9.2  # of a short form at 7 pt
LEAST_WIDTH, LEAST_HEIGHT = 54.0, 84.0  # a smaller card has no room for its parts

HEADS_TOP, STEM_TOP, STEM_HEIGHT, MAP_TOP = 33.2, 24.6, 6.4, 34.6
NAME_TOP, MARK_ROOM = 8.0, 13.9
TARGET_NAME_TOP, FOOT_HEIGHT, BONUS_HEIGHT = 38.8, 3.1, 7.5
FIBRES_HEIGHT = 9.6


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
        self.bonus_top = self.foot_top - BONUS_HEIGHT + 0.1
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
        # One large line, else two or three: the text below moves down to make room.
        one = _name(name, self.inner, 7.0)
        return replace(one, sizes=NAME_SIZES[:3]), replace(one, height=11.8)

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
        foot = Block(
            number, "sans-semibold", (7.0,), 200.0, 5.0, tracking=0.04, small_caps=True,
            balanced=True,
        )  # fmt: skip
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
        room = Room(deck.width - 2 * deck.safe, list_end, fibres_top - 0.8)
        left, right = set_edges(card.proximal, card.distal, room)
        self._note_lists(card, left, right)
        self._check_short(card.id, card.short)
        span = self._map_span(left, right)
        moved = span != self._usual_span() and (left is EMPTY or right is EMPTY)
        fibres_left, fibres_width = span if moved else self._usual_span()
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
            "bonus": self._bonus(card),
        }

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
        return {
            "type": "wild",
            "class": self.say("wild-class"),
            "name": self._fitted(card.id, "name", *self._name_blocks(card)),
            "short": self.say("wild-short"),
            "tiers": [self.tier_number[tier] for tier in card.tiers],
            "marks": [self.deck.tier(tier).mark for tier in card.tiers],
            "says": self._says(card.id, says),
            "lit": [
                n for n, node in enumerate(self.deck.drawing.nodes) if node.tier in card.tiers
            ],
            "map_height": self.foot_top - 45.5 - 2.5,
            "map_alt": self.say("alt.wild"),
        }

    def _variant(self, card: VariantCard) -> dict[str, Any]:
        return {
            "type": "variant",
            "class": self.say("variant-class"),
            "name": self._fitted(card.id, "name", *self._name_blocks(card)),
            "short": self.say("variant-short"),
            "says": self._says(card.id, self.say("variant-says")),
        }

    def _says(self, card: str, text: str) -> dict[str, Any] | None:
        return self._fitted(card, "text", Block(text, "sans", (8.5,), self.deck.width - 16, 11.5))

    def _target(self, card: TargetCard) -> dict[str, Any]:
        deck = self.deck
        shows = deck.targets_show
        foot = self.bonus_top if card.bonus else self.foot_top
        note_height = {"origins": 15.4, "way": 14.4 if card.bonus else 17.8}.get(
            shows, 13.2 if card.bonus else 19.4
        )
        note_top = foot - note_height - 0.6
        self._check_short(card.id, card.short)
        name = self._fitted(card.id, "name", *self._name_blocks(card))
        examined, examined_top = None, 0.0
        if name and card.examined:
            examined_top = TARGET_NAME_TOP + name["height"] + 0.5
            block = Block(
                card.examined,
                "sans",
                TEXT_SIZES,
                self.inner,
                note_top - 1.8 - examined_top,
                leading=-0.1,
                lead=self.say("examined"),
                lead_size=7.5,
            )
            examined = self._fitted(card.id, "examined", block)
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
            "picture_alt": self.say("alt.picture", name=card.name),
            "shows": shows,
            "note_top": note_top,
            "note_height": note_height,
            "note_label": self.say("way-label") if shows == "way" else fibres,
            "fibres": self._states(card),
            "fibres_alt": self._reached_alt(card),
            "way": [_row(entry.mark, entry.short) for entry in card.way],
            "hot": list(card.lit) if lit else [],
            "ends": ends if lit else [],
            # Unlit, the target stands at half height: its place gives nothing away.
            "tip": sum(heights) / len(heights) if lit and heights else 0.5,
            "map_alt": self.say("alt.lit" if lit else "alt.unlit", name=card.name),
            "bonus": self._bonus(card),
        }

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
        step = (deck.width - 35.0) / max(1, len(origins))
        widths = [one.width for one in fit([_origin(short) for short in origins])]
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
            "stagger": max(widths, default=0.0) > step - 0.2,
            "labels": {
                key: self.say(key) for key in ("proximal", "distal", "points", "part", "target")
            },
            "drawing": _drawing_data(deck, self.node_number),
            "pictures": self.pictures,
        }


def _name(text: str, width: float, height: float) -> Block:
    return Block(text, "serif-semibold", NAME_SIZES, width, height, leading=-0.2, balanced=True)


def _short(text: str) -> Block:
    return Block(text, "sans-semibold", (7.0,), SHORT_WIDTH, 3.6)


def _origin(text: str) -> Block:
    return Block(text, "sans-semibold", (7.0,), 60.0, 5.0, balanced=True)


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
        "column_width": side.width / len(side.columns) if side.columns else 0.0,
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
