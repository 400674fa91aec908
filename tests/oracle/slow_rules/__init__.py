"""The state machine of docs/rules.md, written a second time: slow, obvious, plain objects.

It knows the design as `nervure.game.Game` describes it (rules, deck, map) and nothing of the
tables, the compiler or the engine. docs/oracle.md tells how to run it and how to add a rule.
"""

from slow_rules.beliefs import Beliefs, FactBook
from slow_rules.chance import Stream, key, mix, salt
from slow_rules.counters import columns_of, refused_by
from slow_rules.players import eager_move, play_by_chance, play_eagerly
from slow_rules.result import shares_of, winners_of
from slow_rules.strand_book import WILD, StrandBook
from slow_rules.table import Table

__all__ = [
    "WILD",
    "Beliefs",
    "FactBook",
    "StrandBook",
    "Stream",
    "Table",
    "columns_of",
    "eager_move",
    "key",
    "mix",
    "play_by_chance",
    "play_eagerly",
    "refused_by",
    "salt",
    "shares_of",
    "winners_of",
]
