"""What a playtest leaves in ``out/playtest/``: the schema, read by pages and press alike."""

from nervure.records.figures import (
    DIFFERENCES,
    SIGNED,
    UNKNOWN,
    places_for,
    rounded_up,
    said_unit,
    say_count,
    say_figure,
    say_range,
    scale_of,
)
from nervure.records.ladder import ladder_steps, say_ladder
from nervure.records.playtest import (
    SCHEMA_VERSION,
    CardRow,
    FreedomRow,
    Histogram,
    Interval,
    Measure,
    PlaytestResult,
    StylePair,
    TargetRow,
    Verdict,
)

__all__ = [
    "DIFFERENCES",
    "SCHEMA_VERSION",
    "SIGNED",
    "UNKNOWN",
    "CardRow",
    "FreedomRow",
    "Histogram",
    "Interval",
    "Measure",
    "PlaytestResult",
    "StylePair",
    "TargetRow",
    "Verdict",
    "ladder_steps",
    "places_for",
    "rounded_up",
    "said_unit",
    "say_count",
    "say_figure",
    "say_ladder",
    "say_range",
    "scale_of",
]
