"""Knowledge on the playtest's page: veins by what is met, the curve, what is tried in vain."""

from __future__ import annotations

from itertools import pairwise

import pytest

from nervure import maps
from nervure.game import Game, facts, read_game
from nervure.project import read_folder
from nervure.records import FactRow, Measure, PlaytestResult, RefusalRow
from nervure.report import playtest_page
from nervure.report.playtest_exposure import exposure_of_lanes


@pytest.fixture(scope="module")
def game() -> Game:
    return read_game(read_folder(maps.game_folder("lock-keepers")))


def rows(game: Game, *unmet: str) -> tuple[FactRow, ...]:
    """Facts of the game, met in invented shares of games; some never."""
    return tuple(
        FactRow(f.text, f.start, f.end, f.is_supply, *((0, 0) if f.text in unmet else (0.2, 0.4)))
        for f in facts.facts_of(game)
    )


def result(game: Game, found: tuple[FactRow, ...]) -> PlaytestResult:
    start, end = game.structures[0], game.structures[-1]
    curve = [
        {"knows": knows, "edge": edge, "interval": [edge - 0.02, edge + 0.02], "games": 500}
        for knows, edge in ((0.0, 0.41), (0.25, 0.33), (0.5, 0.21), (0.75, 0.1))
    ]
    control = {"knows": 0.5, "edge": 0.01, "interval": [-0.02, 0.04], "games": 500}
    details = {"curve": curve, "control": control}
    return PlaytestResult(
        title=game.title,
        design=game.version,
        games=100,
        seed=1,
        plan=(),
        measures=(Measure("knowledge_edge", 2, 0.21, (0.19, 0.23), "share", 500, details),),
        verdicts=(),
        styles=(),
        targets=(),
        cards=(),
        lengths=(),
        seats={},
        seconds_per_turn=45.0,
        open=(),
        digest="0",
        facts=found,
        refusals=(RefusalRow(f"{start}>{end}", start, end, False, 31, 0.31),),
    )


def test_every_lane_of_a_pathway_is_as_thick_as_its_fact_is_seen(game: Game) -> None:
    target = game.targets[0]
    (way, *_) = game.pathways(target)
    stops = [*way.structures, target]  # the deck of this game has a card of each
    seen = {pair: 0.1 * place for place, pair in enumerate(pairwise(stops), start=1)}

    lanes = exposure_of_lanes(game, seen)

    for (start, end), share in seen.items():
        assert lanes[start, end, way.origin] == pytest.approx(share)


def test_a_lane_over_a_structure_without_cards_has_the_fact_around_it(leg: Game) -> None:
    way, gone = next(
        (way, name)
        for target in leg.targets
        for way in leg.pathways(target)
        for name in way.structures[1:-1]
        if not leg.copies.get(name)
    )
    place = way.structures.index(gone)
    before, after = way.structures[place - 1], way.structures[place + 1]

    lanes = exposure_of_lanes(leg, {(before, after): 0.3})

    assert lanes[before, gone, way.origin] == lanes[gone, after, way.origin] == 0.3


@pytest.fixture(scope="module")
def leg() -> Game:
    return read_game(read_folder(maps.game_folder("giants-leg")))


def test_what_is_no_fact_is_never_met(game: Game) -> None:
    assert set(exposure_of_lanes(game, {}).values()) == {0.0}


def test_the_page_names_what_no_game_met(game: Game) -> None:
    fact = facts.facts_of(game)[0]
    names = [game.anatomy.structure(name).name for name in (fact.start, fact.end)]

    page = playtest_page(result(game, rows(game, fact.text)), game)

    assert " to ".join(names) in page


def test_the_page_draws_what_is_met_only_where_it_was_counted(game: Game) -> None:
    with_facts, without = (playtest_page(result(game, found), game) for found in (rows(game), ()))

    assert 'id="exposure"' in with_facts
    assert 'id="exposure"' not in without


def test_the_curve_is_drawn_with_its_figures_as_a_table(game: Game) -> None:
    page = playtest_page(result(game, ()), game)

    assert 'id="knowledge"' in page
    for figure in ("+41.0", "+33.0", "+21.0", "+10.0", "+1.0"):
        assert f'<td class="n">{figure}</td>' in page


def test_what_is_tried_in_vain_is_said_in_the_words_of_the_map(game: Game) -> None:
    start, end = (game.anatomy.structure(game.structures[at]).name for at in (0, -1))

    page = playtest_page(result(game, ()), game)

    assert f"{start} to {end} (0.31 a game)" in page
