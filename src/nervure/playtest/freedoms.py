"""What each freedom of a game is worth: the same players on the same deals, without it.

A freedom is taken away from everybody, in the tables that the engine plays from; a weigher
keeps the weights of the whole design, so that the same player judges. What is compared is
what the players score and how long they play, never the share of the wins, which equal
players divide in any design.

References
----------
After Jaffe A, Miller A, Andersen E, Liu Y-E, Karlin A, Popović Z. Evaluating competitive game
balance with restricted play. AIIDE 2012: there one player is restricted, here all are.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np
import numpy.typing as npt

from nervure.engine import Games
from nervure.game import Game
from nervure.game.tables import Draw, Rule, Tables
from nervure.playtest.plan import ALL_PRINTED, Experiment
from nervure.playtest.statistics import Estimate, mean_over_deals
from nervure.records import FreedomRow, Interval

DISPLAY, TAKES, LONG_CLAIMS, BONUSES = "display", "takes", "long-claims", "bonuses"
BONUS = "bonus:"
"""Before the id of one bonus that is left blank."""

DRAWS = {DISPLAY: Draw.DISPLAY, TAKES: Draw.TAKE_LOOSE}


def freedoms_of(game: Game) -> tuple[str, ...]:
    """Name the freedoms that a game has: draws, claims longer than need be, bonuses."""
    rules = game.rules
    found = []
    if "display" in rules.draws:
        found.append(DISPLAY)
    if "take-loose" in rules.draws:
        found.append(TAKES)
    if any(len(ladder) > 1 for ladder in game.points_of.values()):
        found.append(LONG_CLAIMS)
    earned = sorted(set(game.bonus_of.values()))
    if earned:
        found.append(BONUSES)
    if len(earned) > 1:
        found += [BONUS + bonus for bonus in earned]
    return tuple(found)


def tables_without(tables: Tables, freedom: str) -> Tables:
    """Give a game's tables with a freedom taken away.

    Without the display its cards lie there and cannot be drawn. Without long claims a strand
    of more than the fewest cards claims nothing. ``all-printed`` takes away what is not
    printed: a player who knows a part of the map then plays as one who knows it all.
    """
    if freedom in DRAWS:
        rules = tables.rules.copy()
        rules[Rule.DRAWS] &= ~int(DRAWS[freedom])
        return replace(tables, rules=rules)
    if freedom == ALL_PRINTED:
        nothing = {
            name: np.zeros_like(getattr(tables.facts, name))
            for name in ("open_junctions", "open_supplies")
        }
        return replace(tables, facts=replace(tables.facts, **nothing))
    if freedom == LONG_CLAIMS:
        return _without_long_claims(tables)
    blank = tables.card_bonus >= 0
    if freedom != BONUSES:
        blank = tables.card_bonus == tables.bonus_ids.index(freedom.removeprefix(BONUS))
    return replace(tables, card_bonus=np.where(blank, -1, tables.card_bonus).astype(np.int32))


def _without_long_claims(tables: Tables) -> Tables:
    strands, fewest = tables.strands, int(tables.rules[Rule.CLAIM_MINIMUM])
    cards = np.bitwise_count(strands.tiers.astype(np.uint64)).astype(np.int64)
    is_long = cards > fewest
    within, full = strands.claims_within.copy(), strands.full_within.copy()
    for ahead in range(len(within)):  # after at most ahead + 1 more cards
        for table, now in ((within, strands.claims), (full, strands.full)):
            table[ahead, is_long] = 0
            table[ahead, cards == fewest] = now[cards == fewest]
            # With so many cards too few, no more than those many can be of use.
            for lacking in range(1, ahead + 1):
                short = cards == fewest - lacking
                table[ahead, short] = table[lacking - 1, short]
    return replace(
        tables,
        strands=replace(
            strands,
            claims=_cleared(strands.claims, is_long),
            full=_cleared(strands.full, is_long),
            claims_within=within,
            full_within=full,
        ),
    )


def _cleared(table: npt.NDArray[np.uint64], rows: npt.NDArray[np.bool_]) -> npt.NDArray[np.uint64]:
    kept = table.copy()
    kept[rows] = 0
    return kept


def freedom_rows(played: Sequence[tuple[Experiment, Games]]) -> tuple[FreedomRow, ...]:
    """Give what each freedom that was taken away is worth, by number of players.

    Compared with the reference games of the same deals, deal by deal.
    """
    whole = {part.players: games for part, games in played if part.kind == "seats"}
    rows = []
    for experiment, without in played:
        games = whole.get(experiment.players)
        if experiment.kind != "restricted" or games is None:
            continue
        deals = min(len(games), len(without))
        points = _lost(games.points.mean(axis=1), without.points.mean(axis=1), deals)
        turns = _lost(games.turns, without.turns, deals)
        claims = _lost(games.claims.mean(axis=1), without.claims.mean(axis=1), deals)
        differs = (games.share[:deals] != without.share[:deals]).any(axis=1)
        rows.append(
            FreedomRow(
                without=experiment.without,
                players=experiment.players,
                points=points.value,
                points_interval=_known(points),
                turns=turns.value,
                turns_interval=_known(turns),
                claims=claims.value,
                claims_interval=_known(claims),
                other_winner=float(differs.mean()) if experiment.players > 1 else None,
                games=deals,
            )
        )
    return tuple(rows)


def _lost(whole: npt.ArrayLike, without: npt.ArrayLike, deals: int) -> Estimate:
    first = np.asarray(whole, dtype=np.float64)[:deals]
    return mean_over_deals(first - np.asarray(without, dtype=np.float64)[:deals])


def _known(estimate: Estimate) -> Interval:
    low, high = estimate.interval()
    return (low, high) if low == low else (-1e9, 1e9)
