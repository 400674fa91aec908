"""What the rules do, in figures and words: a game as it would be beside the one that is saved.

Every figure comes from `nervure.game`; here it is put into sentences, and where the two games
differ the difference is said in words.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from nervure.game import Game, GameCheck, Strand
from nervure.game.chances import Chances, chances
from nervure.web.pages.rules.trial import Trial

if TYPE_CHECKING:
    from nervure.web.view import View

SHOWN = 3  # examples


@dataclass(frozen=True, slots=True)
class Row:
    """One thing that the rules do.

    ``now``: its figure, or lines that say it; ``difference``: what is saved, in words, blank
    where both are the same; ``details``: further lines; ``is_figure``: a number stands alone.
    """

    term: str
    now: str | tuple[str, ...]
    difference: str = ""
    details: tuple[str, ...] = ()
    is_figure: bool = False

    @property
    def lines(self) -> tuple[str, ...]:
        """What holds now, line by line."""
        return (self.now,) if isinstance(self.now, str) else self.now


@dataclass(frozen=True, slots=True)
class Effects:
    """All that is shown of a game: rows, and one sentence in brief for the bar and by ear."""

    rows: tuple[Row, ...] = ()
    brief: str = ""
    is_counted: bool = True
    notes: tuple[str, ...] = field(default=())


class Teller:
    """Says what rules do; ``view`` gives the words."""

    def __init__(self, view: View) -> None:
        self._view = view

    def say(self, key: str, /, **values: object) -> str:
        """Give a text of the effects."""
        return self._view.say(f"web.rules.effects.{key}", **values)

    def effects(self, now: Trial, saved: Trial | None) -> Effects:
        """Give what a game does; ``saved``: the one to set it beside, None if it is the same."""
        errors = sum(fault.level == "error" for fault in now.faults)
        if now.game is None or now.check is None:
            return Effects((), self.say("brief-faults", count=errors), False)
        old = saved.check if saved else None
        old_game = saved.game if saved else None
        rows = [
            self._strands(now.check, old),
            self._untrue(now.game, now.check, old),
            *self._untrue_claims(now.check, old),
            self._printed(now.check, old),
            *self._chances(now.game, old_game if old else None),
            self._targets(now.game, now.check, old),
            self._count("parts", now.check.part_cards, old.part_cards if old else None),
            self._end(now.check, old),
        ]
        return Effects(tuple(rows), self._brief(now.check, old))

    def difference(self, now: int, saved: int | None) -> str:
        """Say by how much a figure differs from what is saved; blank where it does not."""
        if saved is None or now == saved:
            return ""
        return self.say("more" if now > saved else "fewer", count=figure(abs(now - saved)))

    def _count(self, key: str, now: int, saved: int | None, details: tuple[str, ...] = ()) -> Row:
        return Row(self.say(key), figure(now), self.difference(now, saved), details, True)

    def _strands(self, now: GameCheck, saved: GameCheck | None) -> Row:
        lengths = [cards for cards in now.legal_strands if cards > 1]
        listed = ", ".join(
            self.say("strands-of", cards=cards, count=figure(now.legal_strands[cards]))
            for cards in lengths
        )
        details = (self.say("strands-by", list=listed),) if listed else ()
        return self._count(
            "strands", strands_of(now), strands_of(saved) if saved else None, details=details
        )

    def _untrue(self, game: Game, now: GameCheck, saved: GameCheck | None) -> Row:
        found = now.untrue_strands
        details: tuple[str, ...] = ()
        if found.count:
            listed = "; ".join(strand_name(game, one) for one in found.examples[:SHOWN])
            details = (self.say("examples", list=listed),)
        before = saved.untrue_strands.count if saved else None
        return self._count("untrue", found.count, before, details=details)

    def _untrue_claims(self, now: GameCheck, saved: GameCheck | None) -> list[Row]:
        count = now.untrue_strands.claims
        before = saved.untrue_strands.claims if saved else None
        if not count and not before:
            return []
        return [self._count("untrue-claims", count, before)]

    def _printed(self, now: GameCheck, saved: GameCheck | None) -> Row:
        def lines(check: GameCheck) -> list[str]:
            test = check.printed_test
            if not test.can_be_made:
                return [self.say("printed-cannot")]
            if test.is_exact:
                return [self.say("printed-exact")]
            sides = (("passing", test.passing_untrue), ("failing", test.failing_true))
            return [
                self.say(
                    f"printed-{name}", strands=figure(side.strands), claims=figure(side.claims)
                )
                for name, side in sides
                if side.strands or side.claims
            ]

        said = lines(now)
        before = lines(saved) if saved else said
        was = "" if before == said else self.say("was", value="; ".join(before))
        return Row(self.say("printed"), tuple(said), was)

    def _chances(self, now: Game, saved: Game | None) -> list[Row]:
        rows = []
        for key, cards_of in _WHEN.items():
            found = chances(now, cards_of(now))
            if found is None:
                continue
            said = self._chance_lines(now, found)
            before = chances(saved, cards_of(saved)) if saved else None
            old = self._chance_lines(saved, before) if saved and before else said
            was = "" if old == said else self.say("was", value=old)
            details: tuple[str, ...] = (
                (self.say("chances-how", cards=found.cards),) if key == "opening" else ()
            )
            details += () if found.is_exact else (self.say("simulated"),)
            rows.append(Row(self.say(key, cards=found.cards), said, was, tuple(details)))
        return rows

    def _chance_lines(self, game: Game, found: Chances) -> tuple[str, ...]:
        ends = (("likeliest", found.likeliest), ("rarest", found.rarest))
        likeliest, rarest = (
            self.say(key, chance=self.chance(p), target=game.anatomy.target(target).name)
            for key, (p, target) in ends
        )
        return likeliest, self.say("middle", chance=self.chance(found.middle)), rarest

    def chance(self, p: float) -> str:
        """Say a chance in per cent, with as many figures as mean something."""
        percent = 100 * p
        if 0 < percent < 0.1:
            return self.say("chance-small")
        shown = f"{percent:.1f}" if percent < 10 else f"{percent:.0f}"
        return self.say("chance", percent=shown.removesuffix(".0") if p == 0 else shown)

    def _targets(self, game: Game, now: GameCheck, saved: GameCheck | None) -> Row:
        details: tuple[str, ...] = ()
        if now.unclaimable:
            names = ", ".join(game.anatomy.target(one).name for one in now.unclaimable)
            details = (self.say("unclaimable", list=names),)
        return self._count(
            "targets", len(now.targets), len(saved.targets) if saved else None, details=details
        )

    def _end(self, now: GameCheck, saved: GameCheck | None) -> Row:
        said = self._end_line(now)
        old = self._end_line(saved) if saved else said
        details = tuple(
            dict.fromkeys(found.sentence for found in now.ending if found.verdict != "certain")
        )
        was = "" if old == said else self.say("was", value=old)
        return Row(self.say("end"), said, was, details)

    def _end_line(self, check: GameCheck) -> str:
        groups: dict[str, list[int]] = {}
        for found in check.ending:
            moves = ", ".join(self._view.say(f"game.move.{move}") for move in found.moves)
            groups.setdefault(self.say(f"end-{found.verdict}", moves=moves), []).append(
                found.players
            )
        if len(groups) == 1:
            return next(iter(groups))
        return "; ".join(f"{self.players(sizes)}: {verdict}" for verdict, sizes in groups.items())

    def players(self, sizes: Sequence[int]) -> str:
        """Say numbers of players."""
        listed = ", ".join(map(str, sizes))
        return (
            self.say("players-one")
            if list(sizes) == [1]
            else self.say("players-many", players=listed)
        )

    def _brief(self, now: GameCheck, saved: GameCheck | None) -> str:
        """Say the figures that changed most lately; one sentence where nothing did."""
        count, untrue = strands_of(now), now.untrue_strands.count
        if saved is None or (count == strands_of(saved) and untrue == saved.untrue_strands.count):
            return self.say("brief-same", count=figure(count))
        parts = []
        more = self.difference(count, strands_of(saved)) or self.say("same")
        parts.append(self.say("brief-strands", count=figure(count), difference=more))
        if untrue or saved.untrue_strands.count:
            more = self.difference(untrue, saved.untrue_strands.count) or self.say("same")
            parts.append(self.say("brief-untrue", count=figure(untrue), difference=more))
        return " ".join(parts)


_WHEN: dict[str, Callable[[Game], int]] = {
    "opening": lambda game: game.rules.hand.at(game.rules.players[0]),
    "later": lambda game: game.odds_cards,
}


def figure(count: int) -> str:
    r"""Give a number with a narrow space between thousands.

    >>> figure(1252)
    '1\u202f252'
    """
    return f"{count:,}".replace(",", "\u202f")


def strands_of(check: GameCheck) -> int:
    """Count the different strands of two or more cards that the rules join."""
    return sum(count for cards, count in check.legal_strands.items() if cards > 1)


def strand_name(game: Game, strand: Strand) -> str:
    """Give a strand by the short names of its cards, proximal first."""
    return " › ".join(_short(game, one) for one in strand)


def _short(game: Game, structure: str) -> str:
    row = game.anatomy.structure(structure)
    return row.short or row.name


__all__ = ["Effects", "Row", "Teller", "figure", "strand_name", "strands_of"]
