"""What the table's template is given: a seat's view in the order in which it is shown.

Comes in: what `nervure.table.seat_view` gave for a seat, and the faces of the game's cards.
Goes out: plain values for ``_table.html``. Nothing else is looked at, so that what is sent
to a seat is what that one function lets it see.
"""

from __future__ import annotations

import json
from collections.abc import Callable, Collection, Mapping, Sequence
from typing import Any

from nervure.web.pages.play.faces import Faces

LINES_OF_RECORD = 12
RULINGS = ("why", "refused")
PLAIN = ("draw-stock", "end", "pass", "use", "let", "cancel")
GROUPS: tuple[tuple[str, tuple[str, ...]], ...] = (
    ("draw", ("draw-stock", "draw-display", "swap", "take-loose", "lift")),
    ("play", ("lay", "attach", "attach-gap", "join")),
    ("claim", ("claim",)),
    ("other", ("use", "let", "cancel", "end", "pass")),
)
Say = Callable[..., str]
View = Mapping[str, Any]


class Shown:
    """One view of one table, to be shown.

    Parameters
    ----------
    view
        From `nervure.table.seat_view`.
    faces
        Of the table's game.
    say, amount
        Give texts of ``web.play.KEY``.
    before
        The strands that the device showed last, see `strands_of`; None: nothing grows.
    after
        The address of the result, for when the game is over.
    """

    def __init__(
        self,
        view: View,
        faces: Faces,
        say: Say,
        amount: Say,
        before: Collection[tuple[int, str]] | None = None,
        after: str = "",
    ) -> None:
        self._view, self._faces, self._say, self._amount = view, faces, say, amount
        self._before, self._after = before, after
        self._you: int | None = view["you"]
        self._moves = [self._move(move) for move in view["moves"]]

    def values(self) -> dict[str, Any]:
        """Give what the template shows."""
        view, you = self._view, self._you
        own = None if you is None else self._own(view["seats"][you])
        return {
            "title": view["title"],
            "now": self.now(),
            "yours": bool(self._moves),
            "finished": view["result"] is not None,
            "after": self._after,
            "code": view["code"] if view["waits_for"] else "",
            "facts": self.facts(),
            "rivals": [self._rival(seat) for seat in view["seats"] if seat["seat"] != you],
            "open": [self._target(one) for one in view["open_targets"]],
            "has_display": bool(view["display"])
            or any(m["kind"] == "swap" for m in view["moves"]),
            "display": self._cards("display", view["display"]),
            "stock": self._amount("stock", view["stock"]["parts"]),
            "target_stock": self._amount("targets", view["stock"]["targets"]),
            "pile": self._pile(),
            "own_title": self._say("h-own"),
            "own": own,
            "can_undo": view["may_undo"],
            "plain_moves": self._plain_moves(),
            "groups": self._groups(),
            "move_count": len(self._moves),
            "ruling": self._ruling(),
            "near": [near["text"] for near in view["near"]],
            "log": self.record(),
            "help": self._say(f"help-{view['help']}"),
        }

    def now(self) -> str:
        """Give whose turn it is and what may be done, in one sentence."""
        view = self._view
        if view["result"] is not None:
            return str(view["result"]["sentence"])
        if self._moves:
            return self._say("now-yours", todo=view["turn"]["sentence"])
        return str(view["turn"]["sentence"])

    def facts(self) -> str:
        """Give the round, and that the bell has rung."""
        view = self._view
        return self._say("facts-last" if view["bell"] else "facts", round=view["turn"]["round"])

    def record(self) -> list[str]:
        """Give what has happened, newest first; reasons only where the help says why."""
        shown = [
            event["text"]
            for event in self._view["events"]
            if self._view["help"] > 0 or event["kind"] not in RULINGS
        ]
        return shown[::-1][:LINES_OF_RECORD]

    def since(self, entry: int) -> str:
        """Give what has happened after an entry of the log, to be heard."""
        return " ".join(
            event["text"]
            for event in self._view["events"]
            if event["entry"] > entry and (self._view["help"] > 0 or event["kind"] not in RULINGS)
        )

    # Cards

    def _cards(self, place: str, cards: Sequence[View]) -> list[dict[str, Any]]:
        return [
            {"key": f"{place}:{card['kind']}", "face": self._faces.part(card["kind"])}
            for card in cards
            for _ in range(card["count"])
        ]

    def _target(self, target: View | None) -> dict[str, Any] | None:
        if target is None:
            return None
        key = f"target:{target['id']}"
        ready = any(key in move["source"].split() and move["tells"] for move in self._moves)
        return {
            "key": key,
            "face": self._faces.target(target["id"]),
            "ready": ready,
            "bonus": target["bonus"],
        }

    def _pile(self) -> str:
        count = sum(card["count"] for card in self._view["pile"])
        return self._amount("pile", count) if count else ""

    def _strand(self, seat: int, strand: View) -> dict[str, Any]:
        cards = [card for card in strand["cards"] if card is not None]
        gap = strand["gap"]
        before_gap = None if not gap else sum(card is not None for card in strand["cards"][:gap])
        grew = self._before is not None and (seat, strand["text"]) not in self._before
        return {
            "key": f"strand:{strand['strand']}",
            "cards": [self._faces.part(card["kind"]) for card in cards],
            "gap_before": before_gap,
            "copies": strand["copies"],
            "grew": grew,
            "heard": strand["text"],
            "note": " ".join(strand["why"]) if len(cards) > 1 else self._say("loose"),
        }

    def _rival(self, seat: View) -> dict[str, Any]:
        who = self._say("computer", style=seat["style"]) if seat["style"] else self._say("person")
        secret = self._amount("secrets", seat["secret_size"]) if seat["secret_size"] else ""
        return {
            "name": seat["name"],
            "moves": self._view["turn"]["seat"] == seat["seat"] and not self._view["result"],
            "line": self._say(
                "seat-line",
                who=who,
                points=self._amount("points", seat["points"]),
                claims=self._amount("claims", len(seat["claims"])),
                hand=self._amount("in-hand", seat["hand_size"]),
            )
            + secret,
            "strands": [self._strand(seat["seat"], strand) for strand in seat["strands"]],
        }

    def _own(self, seat: View) -> dict[str, Any]:
        strands = []
        for strand in seat["strands"]:
            shown = self._strand(seat["seat"], strand)
            shown["claims"] = [
                move
                for move in self._moves
                if move["kind"] == "claim" and move["tells"] and shown["key"] in move["source"]
            ]
            strands.append(shown)
        secret = [self._target(target) for target in self._view["secret_targets"]]
        return {
            "strands": strands,
            "hand": self._cards("hand", self._view["hand"]),
            "secret": secret,
            "line": self._say(
                "own-line",
                points=self._amount("points", seat["points"]),
                claims=self._amount("claims", len(seat["claims"])),
            ),
            "bonuses": [bonus["text"] for bonus in seat["bonuses"]],
        }

    # Moves

    def _move(self, move: View) -> dict[str, Any]:
        source, place = self._from_to(move)
        return {
            "wire": json.dumps(move["id"]),
            "kind": move["kind"],
            "sentence": move["text"] + (f" {move['why']}" if move["why"] else ""),
            "short": self._short(move),
            "source": source,
            "place": place,
            "tells": move["legal"] is True,
        }

    def _from_to(self, move: View) -> tuple[str, str]:
        """Give the keys of the cards that a move begins with, and of the place it goes to."""
        card, strands, kind = move["card"], move["strands"], move["kind"]
        on_strands = " ".join(f"strand:{strand}" for strand in strands)
        if kind == "draw-display":
            return f"display:{card}", ""
        if kind == "swap":
            return f"hand:{card}", ""
        if kind == "lay":
            return f"hand:{card.partition('@')[0]}", "loose"
        if kind == "attach":
            side = self._side(strands[0], card)
            return f"hand:{card.partition('@')[0]}", f"strand:{strands[0]} {side}"
        if kind == "attach-gap":
            return f"hand:{card.partition('@')[0]} hand:variant", ""
        if kind == "claim":
            return f"{on_strands} target:{move['target']}", ""
        return on_strands, ""

    def _side(self, strand: int, card: str) -> int:
        assert self._you is not None, "only a seat is offered moves"
        tiers = [
            tier
            for tier, there in enumerate(
                self._view["seats"][self._you]["strands"][strand]["cards"]
            )
            if there is not None
        ]
        return 0 if tiers and self._faces.part(card).place < tiers[0] else 1

    def _short(self, move: View) -> str:
        """Give what a button says that stands where the rest is seen."""
        if move["kind"] != "claim":
            return str(move["text"]).rstrip(".")
        assert self._you is not None, "only a seat is offered moves"
        strand = self._view["seats"][self._you]["strands"][move["strands"][0]]
        target = self._faces.target(move["target"])
        cards = sum(card is not None for card in strand["cards"][strand["gap"] or 0 :])
        points = next(
            (worth for least, worth, _ in reversed(target.rungs) if cards >= least),
            target.rungs[0][1],
        )
        return self._say("claim-short", target=target.name, points=self._amount("points", points))

    def _plain_moves(self) -> list[dict[str, Any]]:
        found = []
        for move in self._moves:
            if move["kind"] in PLAIN:
                found.append(
                    {**move, "name": move["kind"], "first": move["kind"] in ("end", "let")}
                )
        return found

    def _groups(self) -> list[dict[str, Any]]:
        groups = []
        for name, kinds in GROUPS:
            moves = [move for move in self._moves if move["kind"] in kinds]
            if moves:
                groups.append({"title": self._say(f"group-{name}"), "moves": moves})
        return groups

    def _ruling(self) -> dict[str, Any] | None:
        told = next((e for e in reversed(self._view["events"]) if e["kind"] in RULINGS), None)
        if told is None:
            return None
        holds = told["kind"] == "why"
        level = self._view["help"]
        first, _, rest = str(told["text"]).partition(". ")
        return {
            "holds": holds,
            "head": self._say("holds" if holds else "refused"),
            "who": self._view["seats"][told["seat"]]["name"],
            "says": (f"{first}." if rest else first) if level > 0 else "",
            "why": [rest] if rest and level > 0 else [],
            "entry": told["entry"],
            "can_light": level > 0,
        }


def strands_of(view: View) -> frozenset[tuple[int, str]]:
    """Give the strands that a view shows, by seat and text."""
    return frozenset(
        (seat["seat"], strand["text"]) for seat in view["seats"] for strand in seat["strands"]
    )
