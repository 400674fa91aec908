"""The plate of points: what targets pay by strand length, against how rare such strands are."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from markupsafe import Markup

from nervure.game import Game
from nervure.records import PlaytestResult, say_count, say_figure
from nervure.report import charts
from nervure.report.charts import Scale, chart, ticks
from nervure.report.playtest_plate import RIGHT, Plate, Table, unit_note
from nervure.report.playtest_words import Talk
from nervure.report.svg import element, number, text
from nervure.report.type_widths import SANS_BOLD, width

START, BASE, TOP = 46.0, 262.0, 26.0
NAMED = 8
LABEL = 13.0
TENTHS = (0.00001, 0.0001, 0.001, 0.01, 0.1, 1.0)
WIDE = 100.0  # from here on between least and largest chance only powers of ten are labelled


@dataclass(frozen=True, slots=True)
class Rung:
    """One strand length of one target: chance to hold it, points paid and asked, claims."""

    target: str
    cards: int
    chance: float
    points: int
    asked: float
    claims: int

    @property
    def off(self) -> float:
        """Points paid minus points that rarity asks."""
        return self.points - self.asked


def rungs_of(result: PlaytestResult, game: Game) -> tuple[Rung, ...]:
    """Give every strand length that a target pays for and that random cards can hold."""
    shortest = max(1, game.rules.claim_minimum)
    found = []
    for row in result.targets:
        for step, (points, asked) in enumerate(zip(row.points, row.difficulty, strict=False)):
            cards = shortest + step
            chance = game.odds[row.target].at(cards, game.odds_cards)
            if chance > 0:
                claims = row.lengths.get(str(cards), 0)
                found.append(Rung(row.target, cards, chance, points, asked, claims))
    return tuple(found)


def points_plate(result: PlaytestResult, game: Game, talk: Talk) -> Plate | None:
    """Draw rings for what is paid as rarity asks, triangles for the rest; None without any."""
    rungs = rungs_of(result, game)
    if not rungs:
        return None
    off = sorted((rung for rung in rungs if rung.off), key=lambda r: (-abs(r.off), -r.claims))
    chances = [rung.chance for rung in rungs]
    low, high = min(chances) * 0.6, min(1.4, max(chances) * 1.6)
    across = Scale(low, high, START, RIGHT, logarithmic=True)
    most = max(*(rung.points for rung in rungs), *(rung.asked for rung in rungs), 2)
    up = Scale(0, most + 0.8, BASE, TOP)
    parts = [*_guides(up, most), *_rings(rungs, across, up), *_triangles(off, across, up)]
    parts += _names(off, across, up, talk)
    steps = (1,) if high / low > WIDE else (1, 2, 5)
    marked = (tenth * step for tenth in TENTHS for step in steps)
    labels = {value: _said(value) for value in marked if low <= value <= min(high, 1.0)}
    parts += charts.axis_across(across, BASE, labels)
    parts.append(unit_note(talk.tell("points.axis"), BASE + 40))
    parts.append(text(talk.tell("unit.points"), 0, 14, class_="note"))
    told = _told(off, talk)
    cards = game.odds_cards
    return Plate(
        "points",
        talk.tell("points.title"),
        f"{talk.tell('points.caption', cards=cards)} {told}",
        Markup(chart("points", told, *parts, height=BASE + 46)),
        Table(
            talk.tell("points.table", cards=cards),
            talk.head("points.head"),
            tuple(_row(rung, talk) for rung in rungs),
        ),
    )


def _said(chance: float) -> str:
    return f"{100 * chance:g} %"


def _guides(up: Scale, most: float) -> Iterator[str]:
    for value in ticks(0, most, 6):
        if value and value == int(value):
            yield charts.hair(START, up(value), RIGHT, up(value))
            label = say_figure(value, "points")
            yield text(label, START - 10, up(value) + 4, class_="tick", text_anchor="end")


def _rings(rungs: Sequence[Rung], across: Scale, up: Scale) -> Iterator[str]:
    """Draw what is paid as asked; rungs at one spot are one ring, its area their number."""
    spots = Counter((rung.chance, rung.points) for rung in rungs if not rung.off)
    for (chance, points), count in sorted(spots.items(), key=lambda spot: -spot[1]):
        yield charts.dot(across(chance), up(points), 3.6 * count**0.5, is_open=True)


def _triangles(off: Sequence[Rung], across: Scale, up: Scale) -> Iterator[str]:
    for rung in off:
        x, y, asked = across(rung.chance), up(rung.points), up(rung.asked)
        yield element("path", d=f"M{number(x)} {number(y)}V{number(asked)}", class_="even")
        yield charts.triangle(x, y, points_up=asked < y, size=6.5)


def _names(off: Sequence[Rung], across: Scale, up: Scale, talk: Talk) -> Iterator[str]:
    """Name the rungs that are furthest off, where a name finds room."""
    taken: list[tuple[float, float, float]] = []
    named: set[str] = set()
    for rung in off:
        if rung.target in named or len(named) == NAMED:
            continue
        name = talk.tell("points.rung", target=talk.name(rung.target), cards=rung.cards)
        wide = width(name, LABEL, SANS_BOLD)
        x, y = across(rung.chance), up(rung.points)
        for left in (x + 12, x - 12 - wide):
            fits = START <= left and left + wide <= RIGHT
            if fits and all(
                abs(y - line) > 14 or left > end or left + wide < start
                for start, end, line in taken
            ):
                taken.append((left, left + wide, y))
                named.add(rung.target)
                yield text(name, left, y + 4.5, class_="value small-note")
                break


def _told(off: Sequence[Rung], talk: Talk) -> str:
    if not off:
        return talk.tell("points.fair")
    under = {rung.target for rung in off if rung.off < 0}
    over = {rung.target for rung in off if rung.off > 0}
    return talk.tell("points.told", under=len(under), over=len(over))


def _row(rung: Rung, talk: Talk) -> tuple[str, ...]:
    key = "as-rare" if not rung.off else "over" if rung.off > 0 else "under"
    return (
        talk.name(rung.target),
        str(rung.cards),
        say_figure(rung.chance, "share"),
        str(rung.points),
        say_figure(rung.asked, "points"),
        talk.tell(f"points.{key}"),
        say_count(rung.claims),
    )
