"""Complete games by compiled code: tables in, whole-number columns out."""

from nervure.engine.batch import STYLES, play
from nervure.engine.games import RESULT_VERSION, EndedBy, Games, Tie, digest, joined_blocks

__all__ = [
    "RESULT_VERSION",
    "STYLES",
    "EndedBy",
    "Games",
    "Tie",
    "digest",
    "joined_blocks",
    "play",
]
