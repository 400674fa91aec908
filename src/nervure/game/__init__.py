"""The rules of a game, its derived deck, exact counts and odds; the tables of the engine."""

from nervure.game.capabilities import NOT_PLAYED
from nervure.game.check import GameCheck, TargetCheck, check_game, untrue_strands
from nervure.game.compile import compile_game
from nervure.game.counts import UntrueStrands
from nervure.game.ending import Ending, ending
from nervure.game.model import Game
from nervure.game.odds import Odds
from nervure.game.printed import PrintedTest, printed_test
from nervure.game.prints import Prints
from nervure.game.reading import read_game, translated_game
from nervure.game.rules import ByPlayers, End, Points, Rules
from nervure.game.sentences import bonus_sentence, sentences
from nervure.game.strands import WILD, Slots, Strand, StrandRules
from nervure.game.tables import Tables

__all__ = [
    "NOT_PLAYED",
    "WILD",
    "ByPlayers",
    "End",
    "Ending",
    "Game",
    "GameCheck",
    "Odds",
    "Points",
    "PrintedTest",
    "Prints",
    "Rules",
    "Slots",
    "Strand",
    "StrandRules",
    "Tables",
    "TargetCheck",
    "UntrueStrands",
    "bonus_sentence",
    "check_game",
    "compile_game",
    "ending",
    "printed_test",
    "read_game",
    "sentences",
    "translated_game",
    "untrue_strands",
]
