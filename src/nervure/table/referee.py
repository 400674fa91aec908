"""The referee: why a move holds, or why it is refused, in the map's own words.

Whether a move is legal is decided by the engine alone; here it is explained. First comes
what anyone can see on the table (whose turn, stage, free tiers, number of cards), in the
order of docs/rules.md; then what the map decides. A refusal of the second kind is a matter
of facts: as a move it is an *attempt* and has its price.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field

from nervure.engine import Move, MoveNumber, Position
from nervure.game import Game
from nervure.table._rulings import Refused, Ruling
from nervure.table.junctions import Ids, Junctions, Reason
from nervure.table.naming import Naming

CONNECTIONS = (
    MoveNumber.TAKE_LOOSE,
    MoveNumber.ATTACH,
    MoveNumber.ATTACH_GAP,
    MoveNumber.JOIN,
    MoveNumber.CLAIM,
)
PHYSICAL = frozenset(
    {
        "tier-taken",
        "not-at-end",
        "at-the-gap",
        "gap-already",
        "tier-twice",
        "not-beyond",
        "gap-is-not-joined",
        "too-few-cards",
        "too-few-real",
        "not-from-origin",
    }
)
"""Refusals that lie in how cards lie, not in whose turn it is or in what the map says."""


@dataclass(frozen=True, slots=True)
class Explanation:
    """Why a move holds or is refused.

    ``of_facts``: the map decides it, so that trying it is an attempt. ``ids``, ``numbers``:
    what the sentence names, by role.
    """

    code: str
    holds: bool
    of_facts: bool
    sentence: str
    ids: Mapping[str, Ids] = field(default_factory=dict)
    numbers: Mapping[str, int] = field(default_factory=dict)


class Referee:
    """Explains the moves of one game; knows no seat's names, so it says 'this seat'."""

    def __init__(self, game: Game) -> None:
        self.game = game
        self.naming = Naming(game)
        self.junctions = Junctions(game)

    def explain(self, position: Position, seat: int, move: Move) -> Explanation:
        """Say why a move of a seat holds here, or the first reason why it is refused."""
        return self.look(position, seat).explain(move)

    def look(self, position: Position, seat: int) -> Look:
        """Give what explains many moves of one seat at one position."""
        return Look(self, Ruling(self.junctions, position, seat))

    def strand(self, slots: Sequence[str | None]) -> Explanation:
        """Say why slots (placed kinds by deck tier) are a joined strand or not."""
        reason = self.junctions.joined(slots)
        return Explanation(
            reason.code, reason.holds, not reason.holds, self.sentence(reason), reason.ids
        )

    def sentence(self, reason: Reason) -> str:
        """Give the sentence of a reason."""
        write = _SENTENCES.get(reason.code, _plain_sentence)
        return write(self, reason)


class Look:
    """A seat's moves at one position, to be explained."""

    def __init__(self, referee: Referee, ruling: Ruling) -> None:
        self._referee, self._ruling = referee, ruling

    def explain(self, move: Move) -> Explanation:
        """Say why a move holds, or the first reason why it is refused."""
        try:
            reason = self._ruling.reason(move)
            of_facts = not reason.holds
        except Refused as refused:
            reason, of_facts = refused.reason, False
        return Explanation(
            reason.code,
            reason.holds,
            of_facts,
            self._referee.sentence(reason),
            reason.ids,
            reason.numbers,
        )

    def draw_is_possible(self) -> bool:
        """Tell whether some draw is legal now."""
        return self._ruling.draw_is_possible()


# Sentences: by code, from the ids that a reason names.


def _plain_sentence(referee: Referee, reason: Reason) -> str:
    """Fill a sentence with every role: cards by name, origins and targets by theirs."""
    naming = referee.naming
    origins = {"origins", "through-one", "through-other", "shared", "enters", "goes-on"}
    origins |= {"fibres", "through", "mains", "here"}
    values: dict[str, object] = dict(reason.numbers)
    for role, ids in reason.ids.items():
        name = role.replace("-", "_")
        if role in origins:
            values[f"{name}_carried"] = naming.origins(ids)
        elif role in ("target", "supplies"):
            values[name] = naming.listing(map(naming.target, ids))
        elif role == "bonus":
            values[name] = naming.listing(map(naming.says, ids))
        else:
            values[name] = naming.cards(ids)
    return naming.tell(f"why.{reason.code}", **values)


def _runs(referee: Referee, reason: Reason) -> str:
    """Say which fibres run where: from their origins, through what, to what, to which target."""
    naming = referee.naming
    way = reason.ids["way"]
    form = {1: "at-once", 2: "two"}.get(len(way), "many")
    return naming.tell(
        f"runs.{form}",
        carried=naming.origins(reason.ids["origins"]),
        middle=naming.cards(way[1:-1]),
        last=naming.card(way[-1]),
        target=naming.listing(map(naming.target, reason.ids["supplies"])),
    )


def _holds(referee: Referee, reason: Reason) -> str:
    return referee.naming.tell(f"why.{reason.code}", runs=_runs(referee, reason), **reason.numbers)


def _pairs(referee: Referee, reason: Reason) -> str:
    naming = referee.naming
    pairs = [ids for role, ids in reason.ids.items() if role.startswith("pair-")]
    told = [
        naming.tell(
            "runs.pair",
            one=naming.card(one),
            other=naming.card(other),
            carried=naming.origins(origins),
        )
        for one, other, *origins in pairs
    ]
    return naming.tell(f"why.{reason.code}", pairs=naming.tell("list.then").join(told))


def _goes_on(referee: Referee, reason: Reason) -> str:
    """Say where fibres that enter do not go on; with three cards by their names."""
    naming = referee.naming
    cards = reason.ids["cards"]
    return naming.tell(
        f"why.{reason.code}-{'three' if len(cards) == 3 else 'more'}",
        first=naming.card(cards[0]),
        middle=naming.cards(cards[1:-1]),
        last=naming.card(cards[-1]),
        before=naming.cards(cards[:-1]),
        cards=naming.cards(cards),
        enters=naming.origins(reason.ids["enters"]),
        goes_on=naming.origins(reason.ids["goes-on"]),
    )


_SENTENCES: Mapping[str, Callable[[Referee, Reason], str]] = {
    "holds": _holds,
    "holds-by-pairs": _pairs,
    "holds-untrue": _pairs,
    "claims": _holds,
    "does-not-go-on": _goes_on,
}
