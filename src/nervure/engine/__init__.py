"""Complete games by compiled code: tables in, whole-number columns out."""

from nervure.engine.batch import play
from nervure.engine.games import RESULT_VERSION, EndedBy, Games, Tie, digest, joined_blocks
from nervure.engine.layout import MoveNumber
from nervure.engine.line_up import STYLES, style_of
from nervure.engine.position import ARGUMENTS, Move, Position, TableStrand

__all__ = [
    "ARGUMENTS",
    "RESULT_VERSION",
    "STYLES",
    "EndedBy",
    "Games",
    "Move",
    "MoveNumber",
    "Position",
    "TableStrand",
    "Tie",
    "digest",
    "joined_blocks",
    "play",
    "style_of",
]
