"""`play`: many complete games of one design by a line-up of styles, on some threads.

Games are cut into chunks of whole deals; a chunk is played by one thread without Python's
lock, each into its own rows, so that the result does not depend on the number of threads.
"""

from __future__ import annotations

import threading
from collections.abc import Callable, Mapping, Sequence
from concurrent.futures import ThreadPoolExecutor
from types import MappingProxyType
from typing import Literal

import numpy as np

from nervure import words
from nervure.engine.cache import load_kernel, load_search_kernel
from nervure.engine.desk import Ints, Longs, Words, decks_of, desk_of, sizes_of
from nervure.engine.features import memory_size
from nervure.engine.games import Games
from nervure.engine.layout import KIND_COLUMNS, SEAT_COLUMNS, TARGET_COLUMNS, Mask, Row
from nervure.engine.line_up import line_up_numbers, searches
from nervure.engine.pool import MOST_SEARCHED, pool_size
from nervure.engine.weight_sets import Weights
from nervure.errors import BadUsage
from nervure.game.fact_tables import junction_text, supply_text
from nervure.game.tables import (
    MOST_KINDS,
    MOST_PART_CARDS,
    MOST_SEATS,
    MOST_TARGETS,
    Tables,
)

CHUNK = 500
"""Fewest games that a thread is given at once, if there are so many."""

Store = tuple[Ints, Words, Longs, Words, Longs, Ints, Ints, Longs, Words]
Trace = tuple[Longs, Words]
"""Refused attempts by false fact (`make_refusals`); facts enacted (games, seats, words)."""
Work = tuple[Ints, Words, Ints, Ints, Words, Ints, Longs]


def play(
    tables: Tables,
    line_up: Sequence[str],
    *,
    seed: int,
    first_deal: int = 0,
    deals: int,
    rotations: Literal["one", "all"] = "one",
    workers: int = 1,
    stop: Callable[[], bool] | None = None,
    on_prepare: Callable[[], None] | None = None,
    weights: Mapping[int, Weights] | None = None,
    facts: bool = False,
) -> Games:
    """Play complete games and give what they leave.

    Parameters
    ----------
    tables
        The game at a number of seats n, from `nervure.game.compile.compile_game`.
    line_up
        n names of styles, by player (`line_up_numbers`).
    seed
        Any whole number; its lowest 64 bits count.
    first_deal, deals
        The deals first_deal .. first_deal + deals - 1.
    rotations
        "one": player p sits in seat p, one game a deal. "all": n games a deal, in rotation r
        player p sits in seat (p + r) mod n; with three players or more the line-up is
        counted backwards on odd deals (player p in seat (n - 1 - p + r) mod n), since
        neighbours matter.
    workers
        Threads. Makes no difference to the result.
    stop
        Asked between chunks, from any thread; once true, no further chunk is begun, and the
        games are those of the chunks before.
    on_prepare
        Called once if the kernel has to be compiled first, which takes some seconds.
    weights
        Own weights of some players, for learning; else the design's set.
    facts
        Note which facts each seat enacts (`Games.enacted`).

    Returns
    -------
    Games in order: by deal, then rotation.

    Raises
    ------
    BadUsage
        The line-up does not fit the table, or a name is unknown (`UnknownName`).
    """
    seats = tables.seats
    styles = line_up_numbers(line_up, tables, weights)
    if rotations not in ("one", "all"):
        raise BadUsage(words.say("engine.rotations", value=rotations))
    a_deal = seats if rotations == "all" else 1
    playouts = searches(styles)
    if playouts:
        play_block = load_search_kernel(on_prepare).search_block
    else:
        play_block = load_kernel(on_prepare).play_block
    desk, decks, sizes = desk_of(tables), decks_of(tables), sizes_of(tables)
    games = deals * a_deal
    rows = np.zeros((games, sizes.row), dtype=np.int32)
    openings = np.zeros((games, seats), dtype=np.uint64)
    enacted = np.zeros((games, seats, words_of(tables, facts)), dtype=np.uint64)
    refusals: list[Longs] = []
    chunk = -(-CHUNK // a_deal) * a_deal
    starts = iter(range(0, games, chunk))
    lock = threading.Lock()
    done = 0

    def run() -> None:
        nonlocal done
        work = make_work(tables)
        store = (make_store(tables, playouts),) if playouts else ()
        refused = make_refusals(tables)
        with lock:
            refusals.append(refused)
        while True:
            with lock:
                start = None if stop is not None and stop() else next(starts, None)
            if start is None:
                return
            end = min(start + chunk, games)
            play_block(
                desk,
                decks,
                styles,
                np.uint64(seed % 2**64),
                first_deal,
                start,
                end - start,
                a_deal,
                rows[start:end],
                openings[start:end],
                (refused, enacted[start:end]),
                work,
                *store,
            )
            with lock:
                done = max(done, end)

    if workers <= 1 or games <= chunk:
        run()
    else:
        with ThreadPoolExecutor(workers) as pool:
            for future in [pool.submit(run) for _ in range(workers)]:
                future.result()
    return games_of_rows(
        tables,
        rows[:done],
        openings[:done],
        enacted[:done],
        first_deal,
        a_deal,
        refused_by=refused_by(tables, sum(refusals[1:], refusals[0])),
    )


def make_work(tables: Tables) -> Work:
    """Make one thread's arrays: numbers, masks, two decks, two scratches, memory."""
    sizes = sizes_of(tables)
    return (
        np.zeros(sizes.numbers, dtype=np.int32),
        np.zeros(Mask.SIZE, dtype=np.uint64),
        np.zeros(max(1, len(tables.card_kinds)), dtype=np.int32),
        np.zeros(max(1, len(tables.target_cards)), dtype=np.int32),
        np.zeros(sizes.scratch, dtype=np.uint64),
        np.zeros(sizes.scratch, dtype=np.int32),
        np.zeros(MOST_SEATS * memory_size(len(tables.strands)), dtype=np.int64),
    )


def make_store(tables: Tables, playouts: int) -> Store:
    """Make the arrays that a search plays in (`search.choose_by_search`)."""
    sizes = sizes_of(tables)
    return (
        np.zeros(sizes.numbers, dtype=np.int32),
        np.zeros(Mask.SIZE, dtype=np.uint64),
        np.zeros(pool_size(playouts), dtype=np.int64),
        np.zeros(2 * MOST_SEARCHED, dtype=np.uint64),
        np.zeros(playouts + 2, dtype=np.int64),
        np.zeros(MOST_PART_CARDS + MOST_KINDS, dtype=np.int32),
        np.zeros(len(tables.target_cards) + MOST_TARGETS, dtype=np.int32),
        np.zeros(MOST_SEATS, dtype=np.int64),
        np.zeros(1, dtype=np.uint64),
    )


def words_of(tables: Tables, facts: bool = True) -> int:
    """Give how many words hold one bit a fact of a design; 0 if facts are not asked for."""
    return -(-len(tables.facts) // 64) if facts else 0


def make_refusals(tables: Tables) -> Longs:
    """Make the counts of refused attempts: by two structures, then by structure and target."""
    facts = tables.facts
    return np.zeros(facts.junctions.size + facts.supplies.size, dtype=np.int64)


def refused_by(tables: Tables, counts: Longs) -> dict[str, int]:
    """Give the counts that are not 0 by the text of their false fact."""
    names, targets = tables.hand_kinds, tables.targets
    structures, junctions = len(tables.facts.junctions), tables.facts.junctions.size
    found = {}
    for place in np.flatnonzero(counts).tolist():
        if place < junctions:
            text = junction_text(names[place // structures], names[place % structures])
        else:
            structure, target = divmod(place - junctions, len(targets))
            text = supply_text(names[structure], targets[target])
        found[text] = int(counts[place])
    return dict(sorted(found.items()))


def games_of_rows(
    tables: Tables,
    rows: Ints,
    openings: Words,
    enacted: Words,
    first_deal: int,
    a_deal: int,
    refused_by: Mapping[str, int] = MappingProxyType({}),
) -> Games:
    """Give the columns of rows that the kernel has written."""
    start = int(Row.SIZE)

    def columns(count: int, width: int) -> list[Ints]:
        nonlocal start
        found = [rows[:, start + width * c : start + width * (c + 1)] for c in range(count)]
        start += width * count
        return found

    player, share, points, claims, full, first, length, bonus, refused, untrue = columns(
        SEAT_COLUMNS, tables.seats
    )
    target_open, claimed, claim_length, wait = columns(TARGET_COLUMNS, len(tables.targets))
    drawn, played, card_claimed, left = columns(KIND_COLUMNS, len(tables.hand_kinds))
    return Games(
        deal=first_deal + np.arange(len(rows), dtype=np.int64) // a_deal,
        rotation=rows[:, Row.ROTATION],
        turns=rows[:, Row.TURNS],
        decisions=rows[:, Row.DECISIONS],
        choices=rows[:, Row.CHOICES],
        forced=rows[:, Row.FORCED],
        ended_by=rows[:, Row.ENDED_BY],
        tie=rows[:, Row.TIE],
        idle=rows[:, Row.IDLE],
        stuck=rows[:, Row.STUCK],
        turns_judged=rows[:, Row.TURNS_JUDGED],
        lead_changes=rows[:, Row.LEAD_CHANGES],
        leader_three_quarters=rows[:, Row.LEADER_THREE_QUARTERS],
        takes=rows[:, Row.TAKES],
        player=player,
        share=share,
        points=points,
        claims=claims,
        full_claims=full,
        first_claim=first,
        points_length=length,
        points_bonus=bonus,
        refused=refused,
        untrue_claims=untrue,
        opening=openings,
        target_open=target_open,
        target_claimed=claimed,
        claim_length=claim_length,
        claim_wait=wait,
        card_drawn=drawn,
        card_played=played,
        card_claimed=card_claimed,
        card_left=left,
        enacted=enacted,
        refused_by=dict(refused_by),
    )
