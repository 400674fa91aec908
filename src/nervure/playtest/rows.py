"""Tables of a playtest: a row a target card, a row a part card, over equal players' games."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence

import numpy as np

from nervure.engine import Games
from nervure.playtest.measures import win_shares
from nervure.playtest.statistics import (
    Estimate,
    holm,
    share_over_deals,
    two_sided_p,
    with_and_without,
)
from nervure.records import CardRow, TargetRow


def target_rows(
    blocks: Sequence[Games],
    targets: Sequence[str],
    claim_minimum: int,
    points: Mapping[str, Sequence[int]],
    difficulty: Mapping[str, Sequence[float]],
) -> tuple[TargetRow, ...]:
    """Give how each target fared.

    Parameters
    ----------
    blocks
        Games of equal players, of every table size that was played.
    targets
        Target ids in the order of the columns.
    points, difficulty
        By target: what it pays, and what its rarity asks, from ``claim_minimum`` cards up.
    """
    opened = np.concatenate([games.target_open for games in blocks])
    claimed = np.concatenate([games.target_claimed for games in blocks])
    length = np.concatenate([games.claim_length for games in blocks])
    wait = np.concatenate([games.claim_wait for games in blocks])
    rows = []
    for column, target in enumerate(targets):
        times = claimed[:, column]
        took = int(times.sum())
        share, interval = share_over_deals(times > 0)
        # With several copies of a target lengths are summed: only single claims tell one.
        lengths = Counter(length[times == 1, column].tolist())
        ladder, rarity = tuple(points[target]), tuple(difficulty.get(target, ()))
        paid = None
        if lengths and rarity:
            rung = lengths.most_common(1)[0][0] - claim_minimum
            paid = ladder[min(rung, len(ladder) - 1)] - rarity[min(rung, len(rarity) - 1)]
        rows.append(
            TargetRow(
                target=target,
                opened=float((opened[:, column] > 0).mean()),
                claimed=share.value,
                claimed_interval=interval,
                lengths={str(cards): count for cards, count in sorted(lengths.items())},
                wait=float(wait[:, column].sum() / took) if took else None,
                points=ladder,
                difficulty=rarity,
                paid=paid,
            )
        )
    return tuple(rows)


def card_rows(blocks: Sequence[Games], kinds: Sequence[str]) -> tuple[CardRow, ...]:
    """Give how each kind of part card fared, and what holding it at the start is worth.

    The effect pools table sizes by weighing each with its number of deals; p-values are
    corrected over all kinds by Holm's method.
    """
    effects = [_opening_effect(blocks, bit) for bit in range(len(kinds))]
    known = [two_sided_p(effect) for effect in effects if effect is not None]
    adjusted = iter(holm(known))
    rows = []
    for column, kind in enumerate(kinds):
        effect = effects[column]
        rows.append(
            CardRow(
                card=kind,
                drawn=_mean(blocks, "card_drawn", column),
                played=_mean(blocks, "card_played", column),
                claimed=_mean(blocks, "card_claimed", column),
                left=_mean(blocks, "card_left", column),
                effect=None if effect is None else effect.value,
                effect_interval=None if effect is None else effect.interval(),
                p_holm=None if effect is None else next(adjusted),
            )
        )
    return tuple(rows)


def _mean(blocks: Sequence[Games], name: str, column: int) -> float:
    total = sum(int(getattr(games, name)[:, column].sum()) for games in blocks)
    return total / sum(len(games) for games in blocks)


def _opening_effect(blocks: Sequence[Games], bit: int) -> Estimate | None:
    found: list[tuple[int, Estimate]] = []
    for games in blocks:
        if games.seats == 1:
            continue
        held = (games.opening >> np.uint64(bit)) & np.uint64(1)
        estimate = with_and_without(win_shares(games), held.astype(np.bool_))
        if estimate is not None:
            found.append((len(games), estimate))
    total = sum(weight for weight, _ in found)
    if not total:
        return None
    value = sum(weight * estimate.value for weight, estimate in found) / total
    error = sum((weight * estimate.error) ** 2 for weight, estimate in found) ** 0.5 / total
    return Estimate(value, error, total)
