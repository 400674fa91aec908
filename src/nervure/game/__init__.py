"""The rules of a game, its derived deck, exact counts and odds; the tables of the engine."""

from nervure.game.ending import Ending, ending
from nervure.game.model import Game
from nervure.game.reading import read_game
from nervure.game.rules import ByPlayers, End, Points, Rules
from nervure.game.strands import WILD, Slots, Strand, StrandRules

__all__ = [
    "WILD",
    "ByPlayers",
    "End",
    "Ending",
    "Game",
    "Points",
    "Rules",
    "Slots",
    "Strand",
    "StrandRules",
    "ending",
    "read_game",
]
