"""Learn the weights of the style weigher by self-play, and write them where the engine looks.

``python tools/learn_weights.py SET [--generations N] [--deals N] [--seed S] [--minutes M]``
with SET one of giants-leg, lock-keepers, general. CMA-ES (Hansen & Ostermeier 2001, package
cma) starts from the set that is there. A candidate's worth is its mean win share as the only
one of its kind at a table of builders, of sprinters, and of the best weigher so far, times
the seats, halved (so that an equal gets one half at every table), over all rotations of
common deals; each generation has deals of its own. What comes out is kept only if it is
worth more than what was there, on fresh deals, by an interval clear of nought. The same
arguments give the same weights, unless --minutes stops first.
"""

from __future__ import annotations

import argparse
import tempfile
import time
from collections.abc import Sequence
from pathlib import Path

import cma
import numpy as np
import numpy.typing as npt

from nervure.engine import play
from nervure.engine.features import FEATURES, weight_names
from nervure.engine.weight_sets import MOST_WEIGHT, Weights, weight_sets
from nervure.game import read_game
from nervure.game.compile import compile_game
from nervure.game.tables import Rule, Tables
from nervure.maps import game_folder
from nervure.project import read_folder, start_from_map

FOLDER = Path(__file__).resolve().parents[1] / "src" / "nervure" / "engine" / "weights"
BUNDLED = ("giants-leg", "lock-keepers")
MAPS = ("arm", "leg", "gut")
OPPONENTS = ("builder", "sprinter", "weigher")
RENEWED_EVERY = 12
FITS = ("draws", "draw_count", "play_count", "claim_minimum")

Floats = npt.NDArray[np.float64]


def designs_of(name: str) -> list[Tables]:
    """Give the designs that a set is learned on, at two seats and at four."""
    if name in BUNDLED:
        games = [read_game(read_folder(game_folder(name)))]
    else:
        games = [read_game(read_folder(game_folder(bundled))) for bundled in BUNDLED]
        with tempfile.TemporaryDirectory() as folder:
            for map_name in MAPS:
                start_from_map(Path(folder) / map_name, map_name)
                games.append(read_game(read_folder(Path(folder) / map_name)))
    return [compile_game(game, seats) for game in games for seats in (2, 4)]


def shares(
    tables: Tables, own: Weights, rival: str, best: Weights, deals: int, seed: int
) -> Floats:
    """Give the worth against one kind of rival, deal by deal."""
    seats = tables.seats
    given = {player: own if player == 0 else best for player in range(seats)}
    line_up = ["weigher"] + [rival] * (seats - 1)
    # As many games at every table: fewer deals where a deal has more rotations.
    many = max(1, 2 * deals // seats)
    games = play(tables, line_up, seed=seed, deals=many, rotations="all", weights=given)
    won = np.where(games.player == 0, games.share, 0).sum(axis=1) / 60
    worth: Floats = won.reshape(many, seats).mean(axis=1) * seats / 2
    return worth


def worth_of(
    designs: Sequence[Tables], own: Weights, best: Weights, deals: int, seed: int
) -> tuple[float, float]:
    """Give the worth over all tables and rivals, and its standard error over deals."""
    means, variances = [], []
    for tables in designs:
        for rival in OPPONENTS:
            found = shares(tables, own, rival, best, deals, seed)
            means.append(found.mean())
            variances.append(found.var(ddof=1) / len(found))
    return float(np.mean(means)), float(np.sqrt(np.sum(variances)) / len(means))


def learn(
    designs: Sequence[Tables],
    start: Weights,
    generations: int,
    deals: int,
    seed: int,
    seconds: float,
) -> Weights:
    """Give the middle of the last generation."""
    scale = 300 + np.abs(start) / 4
    options = {"seed": seed + 1, "verbose": -9, "maxiter": generations}
    search = cma.CMAEvolutionStrategy(np.zeros(FEATURES), 0.4, options)
    begun, best = time.monotonic(), start

    def weights_at(point: Floats) -> Weights:
        found = np.clip(np.rint(start + scale * point), -MOST_WEIGHT, MOST_WEIGHT)
        return found.astype(np.int32)

    for generation in range(generations):
        points = search.ask()
        worths = [
            worth_of(designs, weights_at(point), best, deals, seed + 1000 * generation)[0]
            for point in points
        ]
        search.tell(points, [-worth for worth in worths])
        if generation % RENEWED_EVERY == RENEWED_EVERY - 1:
            best = weights_at(search.result.xfavorite)
        passed = time.monotonic() - begun
        print(
            f"{generation:4} mean {np.mean(worths):.4f} best {max(worths):.4f} "
            f"sigma {search.sigma:.3f} {passed:5.0f} s",
            flush=True,
        )
        if passed > seconds:
            break
    return weights_at(search.result.xfavorite)


def write(name: str, designs: Sequence[Tables], weights: Weights, says: str) -> None:
    """Write a set."""
    lines = [f"# Weights of the style weigher in thousandths: the set {name}.", f"# {says}"]
    if name in BUNDLED:
        first = designs[0]
        lines += ["[fits]", f"tiers = {list(first.tiers)!r}".replace("'", '"')]
        lines += [f"{rule} = {int(first.rules[Rule[rule.upper()]])}" for rule in FITS]
        lines += [""]
    lines += ["[weights]"]
    pairs = zip(weight_names(), weights.tolist(), strict=True)
    lines += [f"{weight} = {value}" for weight, value in pairs]
    (FOLDER / f"{name}.toml").write_text("\n".join(lines) + "\n", "utf-8")


def main() -> None:
    """Learn one set."""
    options = argparse.ArgumentParser(description=__doc__)
    options.add_argument("set", choices=(*BUNDLED, "general"))
    options.add_argument("--generations", type=int, default=60)
    options.add_argument("--deals", type=int, default=150)
    options.add_argument("--seed", type=int, default=1)
    options.add_argument("--minutes", type=float, default=30)
    chosen = options.parse_args()

    sets = {found.name: np.array(found.weights, dtype=np.int32) for found in weight_sets()}
    start = sets.get(chosen.set, sets["general"])
    designs = designs_of(chosen.set)
    learned = learn(
        designs, start, chosen.generations, chosen.deals, chosen.seed, 60 * chosen.minutes
    )
    fresh = chosen.seed + 10**9
    before, before_error = worth_of(designs, start, start, 2000, fresh)
    after, after_error = worth_of(designs, learned, start, 2000, fresh)
    # The deals are common, so the errors are not independent: this interval is too wide.
    clear = after - before > 2 * np.hypot(before_error, after_error)
    says = (
        f"Learned by tools/learn_weights.py {chosen.set} --generations {chosen.generations} "
        f"--deals {chosen.deals} --seed {chosen.seed}; worth {before:.4f} before, "
        f"{after:.4f} after (standard errors {before_error:.4f}, {after_error:.4f})."
    )
    print(says, "Kept." if clear else "Not kept.")
    if clear:
        write(chosen.set, designs, learned, says)


if __name__ == "__main__":
    main()
