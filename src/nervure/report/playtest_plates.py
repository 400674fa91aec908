"""The plates of the playtest page in their order, length first, freedoms last."""

from __future__ import annotations

from nervure.game import Game
from nervure.records import PlaytestResult
from nervure.report.playtest_freedoms import freedoms_plate
from nervure.report.playtest_knowledge import knowledge_plate
from nervure.report.playtest_ladder import ladder_plate
from nervure.report.playtest_lengths import lengths_plate
from nervure.report.playtest_matrix import styles_plate
from nervure.report.playtest_plate import Plate
from nervure.report.playtest_points import points_plate
from nervure.report.playtest_seats import seats_plate
from nervure.report.playtest_words import Talk


def plates(result: PlaytestResult, game: Game, talk: Talk) -> tuple[Plate, ...]:
    """Give the plates that the result has figures for."""
    made = (
        lengths_plate(result, game, talk),
        seats_plate(result, talk),
        styles_plate(result, talk),
        ladder_plate(result, talk),
        knowledge_plate(result, game, talk),
        points_plate(result, game, talk),
        freedoms_plate(result, game, talk),
    )
    return tuple(plate for plate in made if plate is not None)
