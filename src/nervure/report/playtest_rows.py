"""Rows of the playtest page's tables: all measures, targets, part cards."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from markupsafe import Markup

from nervure.game import Game
from nervure.records import (
    CardRow,
    Measure,
    PlaytestResult,
    places_for,
    said_unit,
    say_count,
    say_figure,
)
from nervure.report import charts
from nervure.report.charts import Scale
from nervure.report.marks import mark_of_tier
from nervure.report.playtest_words import Talk
from nervure.report.svg import element

SURE = 0.05
STRIP = 96.0
EFFECT = 150.0


@dataclass(frozen=True, slots=True)
class Cell:
    """A figure with its interval below and the games behind it; blank where not measured."""

    figure: str = ""
    interval: str = ""
    games: str = ""


@dataclass(frozen=True, slots=True)
class MeasureRow:
    """One measure at every table size."""

    name: str
    label: str
    what: str
    unit: str
    cells: tuple[Cell, ...]


def table_sizes(result: PlaytestResult) -> tuple[int, ...]:
    """Give the numbers of players that were played."""
    return tuple(sorted({measure.players for measure in result.measures}))


def measure_rows(result: PlaytestResult, talk: Talk) -> tuple[MeasureRow, ...]:
    """Give a row for every measure, in the order in which they were made."""
    names = dict.fromkeys(measure.name for measure in result.measures)
    return tuple(_measure_row(result, name, talk) for name in names)


def _measure_row(result: PlaytestResult, name: str, talk: Talk) -> MeasureRow:
    found = [result.measure(name, size) for size in table_sizes(result)]
    unit = next(said_unit(name, measure.unit) for measure in found if measure is not None)
    known = talk.has(f"measure.{name}")
    return MeasureRow(
        name,
        talk.tell(f"measure.{name}") if known else name,
        talk.tell(f"what.{name}") if known else "",
        talk.tell(f"unit.{unit}") if talk.has(f"unit.{unit}") else unit,
        tuple(Cell() if measure is None else _cell(measure, talk) for measure in found),
    )


def _cell(measure: Measure, talk: Talk) -> Cell:
    unit = said_unit(measure.name, measure.unit)
    places = places_for(measure.interval, unit)
    return Cell(
        say_figure(measure.value, unit, places),
        talk.interval(measure.interval, unit, places),
        say_count(measure.games),
    )


@dataclass(frozen=True, slots=True)
class TargetLine:
    """One target card as a row: text ready to show."""

    name: str
    opened: str
    claimed: str
    interval: str
    once_open: str
    wait: str
    lengths: tuple[str, ...]
    points: str
    asked: str
    is_hardly: bool


def claim_lengths(result: PlaytestResult) -> tuple[int, ...]:
    """Give the strand lengths by which any target was claimed, rising."""
    return tuple(sorted({int(cards) for row in result.targets for cards in row.lengths}))


def target_lines(
    result: PlaytestResult, hardly: frozenset[str], talk: Talk
) -> tuple[TargetLine, ...]:
    """Give the target cards, the most claimed first."""
    lengths = claim_lengths(result)
    rows = sorted(result.targets, key=lambda row: -row.claimed)
    return tuple(
        TargetLine(
            name=talk.name(row.target),
            opened=say_figure(row.opened, "share", 0),
            claimed=say_figure(row.claimed, "share", 1),
            interval=talk.interval(row.claimed_interval, "share", 1),
            once_open=say_figure(row.claimed / row.opened, "share", 0) if row.opened else "–",
            wait="–" if row.wait is None else say_figure(row.wait, "turns", 1),
            lengths=tuple(say_count(row.lengths.get(str(cards), 0)) for cards in lengths),
            points=" · ".join(map(str, row.points)),
            asked=" · ".join(say_figure(points, "points") for points in row.difficulty),
            is_hardly=row.target in hardly,
        )
        for row in rows
    )


@dataclass(frozen=True, slots=True)
class CardLine:
    """One kind of part card as a row; ``mark`` of its tier, none for wilds and variants."""

    name: str
    mark: str
    copies: int
    drawn: str
    played: str
    claimed: str
    left: str
    strip: Markup
    effect: str
    interval: str
    p: str
    ruler: Markup
    is_sure: bool


def card_lines(result: PlaytestResult, game: Game, talk: Talk) -> tuple[CardLine, ...]:
    """Give the part cards that the deck has, in its order."""
    rows = [row for row in result.cards if game.copies.get(row.card)]
    reach = max((abs(end) for row in rows for end in row.effect_interval or ()), default=0.0)
    most = max((row.drawn for row in rows), default=0.0) or 1.0
    return tuple(_card_line(row, game, talk, reach or 1.0, most) for row in rows)


def _card_line(row: CardRow, game: Game, talk: Talk, reach: float, most: float) -> CardLine:
    per_game = {
        name: say_figure(getattr(row, name), "cards", 2)
        for name in ("drawn", "played", "claimed", "left")
    }
    effect = interval = p = "–"
    is_sure = row.p_holm is not None and row.p_holm < SURE
    if row.effect is not None and row.effect_interval is not None and row.p_holm is not None:
        effect = talk.signed(100 * row.effect, 1)
        interval = talk.interval(row.effect_interval, "difference", 1)
        p = _said_p(row.p_holm, talk)
    return CardLine(
        name=talk.card(row.card),
        mark=_mark(row.card, game),
        copies=game.copies[row.card],
        strip=Markup(_strip(row, most)),
        effect=effect,
        interval=interval,
        p=p,
        ruler=Markup(_effect_ruler(row, reach, is_sure=is_sure)),
        is_sure=is_sure,
        **per_game,
    )


def _said_p(p: float, talk: Talk) -> str:
    if p < 0.001:
        return talk.tell("cards.p-small")
    return f"{p:.2f}" if p >= 0.1 else f"{p:.3f}"


def _mark(kind: str, game: Game) -> str:
    if kind == "variant" or kind.startswith("wild:"):
        return ""
    tiers = {row.id: row for row in game.anatomy.map.tiers}
    return mark_of_tier(tiers[game.anatomy.tier_of(kind)], game.anatomy.map)


def marks_of(game: Game) -> list[str]:
    """Give the tier marks that the cards' table uses."""
    tiers = {row.id: row for row in game.anatomy.map.tiers}
    return [mark_of_tier(tiers[tier], game.anatomy.map) for tier in game.tiers]


def _strip(row: CardRow, most: float) -> str:
    """Draw what was drawn as a line of boxes' length, hatched what was claimed."""
    scale = STRIP / most
    content = [
        element("rect", x=0.5, y=2.5, width=row.drawn * scale, height=9, class_="frame"),
        charts.bar(0.5, 2.5, min(row.claimed, row.drawn) * scale, 9),
    ]
    return _small(STRIP + 2, 14, content)


def _effect_ruler(row: CardRow, reach: float, *, is_sure: bool) -> str:
    scale = Scale(-reach, reach, 6, EFFECT - 6)
    content = [element("line", x1=scale(0), x2=scale(0), y1=0, y2=18, class_="axis")]
    if row.effect is not None and row.effect_interval is not None:
        content.append(charts.interval(scale, *row.effect_interval, 9, 4))
        content.append(charts.dot(scale(row.effect), 9, 4, is_open=not is_sure))
    return _small(EFFECT, 18, content)


def _small(wide: float, high: float, content: list[str]) -> str:
    return (
        f'<svg class="small-chart" width="{wide:g}" height="{high:g}" '
        f'viewBox="0 0 {wide:g} {high:g}" aria-hidden="true">{"".join(content)}</svg>'
    )


def idle_cards(result: PlaytestResult, game: Game) -> list[str]:
    """Give the part cards of the deck that never left with a claim."""
    return [row.card for row in result.cards if game.copies.get(row.card) and not row.claimed]


def sure_cards(result: PlaytestResult) -> Iterator[CardRow]:
    """Give the cards whose effect is sure after Holm, the strongest first."""
    found = [row for row in result.cards if row.p_holm is not None and row.p_holm < SURE]
    yield from sorted(found, key=lambda row: -abs(row.effect or 0.0))
