"""What a playtest leaves in ``out/playtest/``: the schema, read by pages and press alike."""

from nervure.records.playtest import (
    SCHEMA_VERSION,
    CardRow,
    Histogram,
    Interval,
    Measure,
    PlaytestResult,
    StylePair,
    TargetRow,
    Verdict,
)

__all__ = [
    "SCHEMA_VERSION",
    "CardRow",
    "Histogram",
    "Interval",
    "Measure",
    "PlaytestResult",
    "StylePair",
    "TargetRow",
    "Verdict",
]
