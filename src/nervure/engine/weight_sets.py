"""Sets of weights for the style `weigher`, and which of them a design is played with.

``weights/*.toml``: a table ``weights`` by the names of `features.weight_names`, in
thousandths, and a table ``fits`` of what a design must have for the set: ``tiers``, and
rules of `Rule` by name. `general` has none and goes with every other design.
"""

from __future__ import annotations

import functools
import tomllib
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import numpy.typing as npt

from nervure.engine.features import weight_names
from nervure.game.tables import Rule, Tables

Weights = npt.NDArray[np.int32]

GENERAL = "general"
MOST_WEIGHT = 1_000_000
_FOLDER = Path(__file__).with_name("weights")


@dataclass(frozen=True, slots=True)
class WeightSet:
    """One set. ``tiers`` is empty for the general set; ``rules`` are name and value."""

    name: str
    tiers: tuple[str, ...]
    rules: tuple[tuple[str, int], ...]
    weights: tuple[int, ...]

    def fits(self, tables: Tables) -> bool:
        """Tell whether the set was learned for designs such as this one."""
        return self.tiers == tables.tiers and all(
            int(tables.rules[Rule[name.upper()]]) == value for name, value in self.rules
        )


@functools.cache
def weight_sets() -> tuple[WeightSet, ...]:
    """Give all sets that are shipped, by name; the general one last."""
    sets = [_read(file) for file in sorted(_FOLDER.glob("*.toml"))]
    return tuple(sorted(sets, key=lambda found: found.name == GENERAL))


def set_for(tables: Tables) -> WeightSet:
    """Give the set that a design is played with: the first that fits, else the general one."""
    sets = weight_sets()
    return next((found for found in sets[:-1] if found.fits(tables)), sets[-1])


def weights_for(tables: Tables) -> Weights:
    """Give the weights (features,) that a design is played with, in thousandths."""
    return np.array(set_for(tables).weights, dtype=np.int32)


def _read(file: Path) -> WeightSet:
    table = tomllib.loads(file.read_text("utf-8"))
    found, names = table["weights"], weight_names()
    assert set(found) == set(names), f"{file.name}: {sorted(set(found) ^ set(names))}"
    weights = tuple(int(found[name]) for name in names)
    assert all(abs(weight) <= MOST_WEIGHT for weight in weights), file.name
    fits = dict(table.get("fits", {}))
    tiers = tuple(fits.pop("tiers", ()))
    return WeightSet(file.stem, tiers, tuple(fits.items()), weights)
