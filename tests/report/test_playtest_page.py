"""The page of a playtest: true to the result, whole in itself, readable without colour."""

from __future__ import annotations

import re
from dataclasses import replace
from html.parser import HTMLParser
from importlib import resources
from itertools import pairwise
from pathlib import Path

import pytest

from nervure import maps, words
from nervure.game import Game, read_game
from nervure.project import read_folder
from nervure.records import (
    CardRow,
    Histogram,
    Measure,
    PlaytestResult,
    StylePair,
    TargetRow,
    Verdict,
)
from nervure.report import playtest_page
from nervure.report.playtest_leaf import claims_of

VOID = {"meta", "link", "br", "img", "input", "hr"}


@pytest.fixture(scope="module")
def game() -> Game:
    return read_game(read_folder(maps.game_folder("lock-keepers")))


def verdict(name: str, word: str, value: float, half: float = 0.01) -> Verdict:
    interval = (value - half, value + half)
    said = f"Head of {name}: rest of {name}."
    return Verdict(name, word, said, 0.1, 0.3, 2, value, interval, "share", None)


@pytest.fixture(scope="module")
def result(game: Game) -> PlaytestResult:
    """A result of invented figures, each kind of verdict once."""
    first, second, *others = game.targets
    pairs = (
        StylePair("builder", "chance", 2, 0.9, (0.85, 0.93), 0.1, 0.4, (0.35, 0.45), 200),
        StylePair("chance", "builder", 2, 0.1, (0.07, 0.15), 0.9, -0.4, (-0.45, -0.35), 200),
        StylePair("builder", "sprinter", 2, 0.52, (0.45, 0.59), 0.48, 0.02, (-0.05, 0.09), 200),
        StylePair("sprinter", "builder", 2, 0.48, (0.41, 0.55), 0.52, -0.02, (-0.09, 0.05), 200),
    )
    fair = game.points_of
    targets = [
        TargetRow(t, 0.5, 0.3, (0.25, 0.35), {"2": 150}, 4.0, fair[t], fair[t], 0.0)
        for t in others
    ]
    # The first is paid two points too little at its first rung, the second was never claimed.
    asked = (fair[first][0] + 2, *fair[first][1:])
    targets.append(
        TargetRow(first, 0.6, 0.4, (0.35, 0.45), {"2": 200}, 3.5, fair[first], asked, -2)
    )
    targets.append(
        TargetRow(second, 0.6, 0.0, (0.0, 0.01), {}, None, fair[second], fair[second], None)
    )
    cards = tuple(
        CardRow(kind, 2.0, 1.5, 0.8, 0.5, 0.01, (-0.03, 0.05), 1.0) for kind in game.hand_kinds
    )
    sure = CardRow(game.hand_kinds[0], 2.0, 1.5, 0.8, 0.5, 0.12, (0.08, 0.16), 0.0004)
    details = {"p10": 30.0, "p50": 35.0, "p90": 40.0}
    minutes = {"p10": 12.5, "p50": 14.5, "p90": 16.5}
    measures = (
        Measure("turns", 2, 35.2, (34.9, 35.5), "turns", 500, details),
        Measure("minutes", 2, 14.7, (14.5, 14.9), "minutes", 500, minutes),
        Measure("idle", 2, 0.588, (0.585, 0.591), "share", 500),
        Measure("idle", 3, 0.631, (0.628, 0.634), "share", 500),
    )
    step = {"kind": "seats", "line_up": ["builder", "builder"], "games": 500, "played": 500}
    return PlaytestResult(
        title=game.title,
        design=game.version,
        games=1234,
        seed=77,
        plan=(step,),
        measures=measures,
        verdicts=(
            verdict("idle", "fails", 0.588),
            verdict("seat_gap", "fails", 0.02),
            verdict("forced", "watch", 0.3),
            verdict("stuck", "holds", 0.2),
            replace(verdict("finish", "certain", 0.2, 0.0), players=None),
            Verdict("luck", "open", "Nothing: yet.", 0, 1, None, None, None, ""),
        ),
        styles=pairs,
        targets=tuple(targets),
        cards=(sure, *cards[1:]),
        lengths=(Histogram(2, 30.0, 2.0, (100, 250, 150)),),
        seats={"2": ((0.48, (0.44, 0.52)), (0.52, (0.48, 0.56)))},
        seconds_per_turn=25.0,
        open=("seat_gap",),
        digest="0123456789abcdef",
    )


@pytest.fixture(scope="module")
def page(result: PlaytestResult, game: Game) -> str:
    return playtest_page(result, game)


class Outline(HTMLParser):
    """What a page is made of: ids, references, headings, elements left open."""

    def __init__(self, page: str) -> None:
        super().__init__()
        self.ids: list[str] = []
        self.references: list[str] = []
        self.headings: list[int] = []
        self.heads: list[dict[str, str | None]] = []
        self.drawings: list[dict[str, str | None]] = []
        self.tags: set[str] = set()
        self.open: list[str] = []
        self.feed(page)

    def handle_startendtag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.noted(tag, dict(attrs))

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.noted(tag, dict(attrs))
        if tag not in VOID:
            self.open.append(tag)

    def handle_endtag(self, tag: str) -> None:
        assert self.open.pop() == tag

    def noted(self, tag: str, given: dict[str, str | None]) -> None:
        self.tags.add(tag)
        if given.get("id"):
            self.ids.append(str(given["id"]))
        for name in ("aria-labelledby", "aria-describedby"):
            self.references += (given.get(name) or "").split()
        if (given.get("href") or "").startswith("#"):
            self.references.append(str(given["href"])[1:])
        if re.fullmatch("h[1-6]", tag):
            self.headings.append(int(tag[1]))
        if tag == "th":
            self.heads.append(given)
        if given.get("role") == "img":
            self.drawings.append(given)


@pytest.fixture(scope="module")
def outline(page: str) -> Outline:
    return Outline(page)


def test_every_element_is_closed(outline: Outline) -> None:
    assert outline.open == []


def test_no_id_is_there_twice(outline: Outline) -> None:
    assert sorted(outline.ids) == sorted(set(outline.ids))


def test_every_reference_leads_somewhere(outline: Outline) -> None:
    assert set(outline.references) - set(outline.ids) == set()


def test_headings_leave_out_no_level(outline: Outline) -> None:
    assert outline.headings[0] == 1
    assert all(b <= a + 1 for a, b in pairwise(outline.headings))


def test_every_head_of_a_table_says_what_it_heads(outline: Outline) -> None:
    assert all(head.get("scope") in ("col", "row") for head in outline.heads)


def test_every_drawing_has_words(outline: Outline) -> None:
    assert len(outline.drawings) > 10
    assert all(given.get("aria-labelledby") for given in outline.drawings)


def test_nothing_runs_and_nothing_comes_from_outside(page: str, outline: Outline) -> None:
    assert "script" not in outline.tags
    assert re.findall(r'(?:src|href)="(?!#)[^"]+"|url\((?!data:)[^)]+\)|@import', page) == []


@pytest.mark.parametrize("goal", ["idle", "seat_gap", "forced", "stuck", "finish", "luck"])
def test_every_verdict_stands_with_its_sentence_and_its_word(
    page: str, result: PlaytestResult, goal: str
) -> None:
    found = next(verdict for verdict in result.verdicts if verdict.goal == goal)
    item = page.split(f'id="goal-{goal}"', 1)[1].split("</li>", 1)[0]
    head, _, rest = found.sentence.partition(": ")

    assert f"<b>{head}:</b> {rest}" in item
    assert f"</svg>{found.verdict}</div>" in item


def test_marks_of_verdicts_differ_in_shape(page: str) -> None:
    marks = re.findall(r'<svg class="mark".*?</svg>', page)

    # Two fail, at either end of the goal: mirrored.
    assert len(marks) == 6
    assert len(set(marks)) == 6


def test_the_other_tables_stand_below_the_worst(page: str) -> None:
    item = page.split('id="goal-idle"', 1)[1].split("</li>", 1)[0]

    # The verdict is of two players; an interval of ± 1 % allows one decimal place.
    assert "Elsewhere 63.1 % with 3 players." in item


def test_standing_counts_goals_and_names_what_fails(page: str) -> None:
    standing = page.split('class="standing"', 1)[1].split("</dl>", 1)[0]

    assert "2 of 6 goals hold." in standing
    assert '<a href="#goal-idle" class="red">idle turns (fails)</a>' in standing
    assert '<a href="#goal-forced">forced decisions (watch)</a>' in standing
    assert '<a href="#goal-luck">luck (not measured)</a>' in standing


def test_how_it_was_played_is_said(page: str) -> None:
    for part in ("1\u202f234 complete games", "Seed 77", "25 seconds", "0123456789abcdef"):
        assert part in page


def test_a_stopped_playtest_says_so_far(result: PlaytestResult, game: Game) -> None:
    assert "So far 1\u202f234 complete games" in playtest_page(replace(result, stopped=True), game)


def test_a_figure_has_its_interval_unit_and_games(page: str) -> None:
    table = page.split('<table class="measures">', 1)[1].split("</table>", 1)[0]
    row = table.split("idle turns", 1)[1].split("</tr>", 1)[0]

    assert re.findall(r"<td[^>]*>(.*?)</td>", row)[1:3] == [
        '<b>58.8 %</b><span class="under">58.5 to 59.1</span>',
        "500",
    ]


def test_a_measure_that_was_not_made_at_a_table_is_blank(page: str) -> None:
    table = page.split('<table class="measures">', 1)[1].split("</table>", 1)[0]
    row = table.split("length in turns", 1)[1].split("</tr>", 1)[0]

    assert re.findall(r"<td[^>]*>(.*?)</td>", row)[3:] == ["–", ""]


@pytest.mark.parametrize(
    ("kind", "count"),
    # Builder beats chance for sure and the other way round; sprinter is not told apart.
    [("square above", 1), ("square below", 1)],
)
def test_squares_are_filled_only_where_the_interval_is_clear(
    page: str, kind: str, count: int
) -> None:
    assert page.count(f'class="{kind}"') == count


def test_a_target_paid_too_little_has_a_triangle_pointing_up(page: str) -> None:
    plate = page.split('id="points"', 1)[1].split("</figure>", 1)[0]
    (arrow,) = re.findall(r'<path d="M[\d.]+ ([\d.]+)L[\d.]+ ([\d.]+)H[^"]*" class="arrow"', plate)

    assert float(arrow[0]) < float(arrow[1])


def test_a_target_that_nobody_claimed_is_named(page: str, game: Game) -> None:
    name = game.anatomy.target(game.targets[1]).name

    assert f"Nobody claimed {name}" in page


def test_hardly_claimed_is_less_than_a_third_of_the_mean(
    result: PlaytestResult, game: Game
) -> None:
    claims = claims_of(result)

    rest = len(game.targets) - 2
    assert claims.limit == pytest.approx((rest * 0.3 + 0.4) / (rest + 2) / 3)
    assert claims.hardly == (game.targets[1],)


def test_a_card_beyond_chance_is_named_with_its_effect(page: str, game: Game) -> None:
    name = game.anatomy.structure(game.hand_kinds[0]).name

    assert f"who wins beyond chance: {name} (+12.0)." in page


def test_cards_that_are_not_in_the_deck_have_no_row(page: str, game: Game) -> None:
    table = page.split('<table class="cardtable">', 1)[1].split("</table>", 1)[0]

    assert table.count("<tr>") - 1 == sum(1 for copies in game.copies.values() if copies)


def test_the_page_says_that_computer_players_are_no_learners(page: str) -> None:
    assert "Computer players are no learners." in page


def test_a_result_of_another_design_is_refused(result: PlaytestResult, game: Game) -> None:
    with pytest.raises(ValueError, match="another"):
        playtest_page(replace(result, design="another"), game)


def test_a_line_up_without_tables_of_equals_still_has_its_page(
    result: PlaytestResult, game: Game
) -> None:
    bare = replace(result, styles=(), targets=(), cards=(), lengths=(), seats={}, verdicts=())

    outline = Outline(playtest_page(bare, game))

    assert {"measures", "verdicts"} <= set(outline.ids)
    assert not {"plates", "claims", "cards"} & set(outline.ids)
    assert set(outline.references) - set(outline.ids) == set()


def test_one_deal_gives_no_interval_and_says_so(result: PlaytestResult, game: Game) -> None:
    unknown = replace(result.measures[0], interval=(-1e9, 1e9))
    found = playtest_page(replace(result, measures=(unknown,)), game)

    assert "interval not known from one deal" in found


def test_names_are_shown_as_text(tmp_path: Path, result: PlaytestResult) -> None:
    source = maps.game_folder("lock-keepers") / "game.toml"
    text = source.read_text("utf-8").replace("The Lock-Keepers", "Locks & <b>Sons</b>")
    (tmp_path / "game.toml").write_text(text, "utf-8")
    game = read_game(read_folder(tmp_path))

    found = playtest_page(replace(result, design=game.version), game)

    assert "Locks &amp; &lt;b&gt;Sons&lt;/b&gt;" in found
    assert "<b>Sons" not in found


def test_every_text_that_the_page_asks_for_exists() -> None:
    report = resources.files("nervure.report")
    files = [file for file in report.iterdir() if file.name.startswith("playtest_")]
    asked = set()
    for name in ("playtest.html", "_playtest.html"):
        asked |= set(re.findall(r'told\("([^"]+)"', (report / "templates" / name).read_text()))
    for file in files:
        asked |= set(re.findall(r'\.(?:tell|head)\(\s*"([^"]+)"', file.read_text("utf-8")))

    assert len(asked) > 60
    assert [key for key in sorted(asked) if not words.has(f"playtest_page.{key}")] == []
