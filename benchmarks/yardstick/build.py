"""The yardstick in C: hands it a game's tables, compiles it, runs it, reads what it leaves.

Nothing of the engine is imported here; the layout of a row is stated again, so that the
comparison of columns is one of two independent statements.
"""

from __future__ import annotations

import os
import shutil
import subprocess
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np
import numpy.typing as npt

from nervure.game.tables import Draw, MayPass, Rule, Tables, TieBreak
from nervure.project import Folder

SOURCE = Path(__file__).parent / "random_play.c"
FLAGS = ("-std=c11", "-O3", "-march=native", "-Wall", "-Wextra")
MAGIC = b"STRANDS1"
MOST_CARDS, MOST_TARGETS, MOST_OPEN, STRAND_CARDS = 128, 64, 8, 8

# Rules that are fixed in the C source, and why a game with others is not measured by it.
FIXED = {
    Rule.VARIANT_KIND: -1,
    Rule.SECRET_TARGETS: 0,
    Rule.MUST_PLAY: 1,
    Rule.INSERT: 0,
    Rule.JOIN_IS_PLAY: 0,
    Rule.CLAIM_IS_PLAY: 0,
    Rule.REFILL: 1,
    Rule.SWAP_UNDER: 0,
    Rule.MAY_PASS: MayPass.NEVER,
    Rule.END_POINTS: 0,
    Rule.END_ROUNDS: 0,
    Rule.END_TURNS: 0,
    Rule.END_PASSED: 0,
    Rule.BONUSES: 0,
}
GAME_COLUMNS = (
    "rotation turns decisions choices forced ended_by tie idle stuck turns_judged lead_changes "
    "leader_three_quarters takes"
).split()
SEAT_COLUMNS = (
    "player share points claims full_claims first_claim points_length points_bonus"
).split()
TARGET_COLUMNS = "target_open target_claimed claim_length claim_wait".split()
KIND_COLUMNS = "card_drawn card_played card_claimed card_left".split()


@dataclass(frozen=True)
class Run:
    """One timed run of the yardstick."""

    seconds: float
    games: int
    decisions: int
    choices_made: int  # decisions that were not forced


PLAIN_RULES = {
    "draws": ["stock", "display", "swap"],
    "draw_count": 1,
    "play_count": 1,
    "end": ["claims: 6"],
}


def plain_form(folder: Folder) -> Folder:
    """Give a project's game with fewer rules: no wild cards, no takes, one draw and one play."""
    deck = tuple(row for row in folder.deck if not row.card.startswith("wild:"))
    rules = {**folder.settings.get("rules", {}), **PLAIN_RULES}
    return replace(folder, deck=deck, settings={**folder.settings, "rules": rules})


def why_not(tables: Tables) -> str:
    """Give why a game is outside the rules that the C source knows; "" if it is inside."""
    rules = tables.rules
    for rule, value in FIXED.items():
        if rules[rule] != value:
            return f"{rule.name} is {rules[rule]}, the C source plays only {int(value)}"
    if rules[Rule.DRAWS] & ~Draw.TAKE_LOOSE != Draw.STOCK | Draw.DISPLAY | Draw.SWAP:
        return "other draws"
    if rules[Rule.FIRST_ANY_KIND] != rules[Rule.STRUCTURES]:
        return "the deck holds wild cards of one tier"
    if rules[Rule.CLAIM_MINIMUM] < 2:
        return "claims of one card"
    ties = {int(rules[Rule.TIE_BREAKS + place]) for place in range(8)}
    if not ties <= {TieBreak.NONE, TieBreak.FULL_STRANDS, TieBreak.FEWEST_CARDS}:
        return "other tie-breaks"
    if max(len(tables.card_kinds), len(tables.target_cards)) > MOST_CARDS:
        return f"more than {MOST_CARDS} cards"
    if len(tables.targets) > MOST_TARGETS or rules[Rule.OPEN_TARGETS] > MOST_OPEN:
        return f"more than {MOST_TARGETS} targets"
    if len(tables.strands) > np.iinfo(np.uint16).max:
        return "more strands than 16 bits number"
    return ""


def compiler() -> str | None:
    """Give the C compiler of this machine, if it has one that knows the flags."""
    names = [os.environ.get("CC", ""), "gcc", "clang", "cc"]
    return next((found for name in names if name and (found := shutil.which(name))), None)


def compile_yardstick(folder: Path, lean: bool = False) -> Path:
    """Compile the C source into a folder; gives the program."""
    found = compiler()
    if found is None:
        raise FileNotFoundError("no C compiler")
    program = folder / ("random_play_lean" if lean else "random_play")
    options = ["-DLEAN"] if lean else []
    command = [found, *FLAGS, *options, str(SOURCE), "-o", str(program)]
    subprocess.run(command, check=True, capture_output=True, text=True)
    return program


def write_tables(tables: Tables, path: Path) -> None:
    """Write a game's tables for the C program; it must be one that `why_not` lets through."""
    reason = why_not(tables)
    if reason:
        raise ValueError(reason)
    rules, strands = tables.rules, tables.strands
    head = [
        rules[rule]
        for rule in (
            Rule.SEATS,
            Rule.TIERS,
            Rule.HAND_KINDS,
            Rule.TARGETS,
            Rule.PART_CARDS,
            Rule.TARGET_CARDS,
            Rule.HAND,
            Rule.DISPLAY,
            Rule.OPEN_TARGETS,
            Rule.END_CLAIMS,
            Rule.END_STOCK,
        )
    ]
    head += [
        int(rules[Rule.DRAWS] & Draw.TAKE_LOOSE != 0),
        rules[Rule.DRAW_COUNT],
        rules[Rule.PLAY_COUNT],
        rules[Rule.STRUCTURES],
        rules[Rule.PLACED_KINDS],
    ]
    ties = [rules[Rule.TIE_BREAKS + place] for place in range(8)]
    extra = [rules[Rule.SEAT_CARDS + seat] for seat in range(6)]
    tiers = strands.tiers.astype(np.uint64)
    may_claim = np.bitwise_count(tiers) >= rules[Rule.CLAIM_MINIMUM]
    arrays = [
        np.array([*head, *ties, *extra], dtype="<i4"),
        strands.bits.astype("<u8"),
        strands.rank.astype("<u2"),
        strands.tiers.astype("u1"),
        strands.attach.astype("<u8"),
        np.where(may_claim, strands.claims[:, 0], 0).astype("<u8"),
        strands.full[:, 0].astype("<u8"),
        _strand_cards(tables).astype("i1"),
        strands.kind_code.astype("<i4"),
        strands.kind_id.astype("<i4"),
        tables.points.astype("<i4"),
        tables.card_kinds.astype("<i4"),
        tables.card_salts.astype("<u8"),
        tables.target_cards.astype("<i4"),
        tables.target_salts.astype("<u8"),
    ]
    with path.open("wb") as file:
        file.write(MAGIC)
        for array in arrays:
            data = np.ascontiguousarray(array).tobytes()
            file.write(len(data).to_bytes(8, "little"))
            file.write(data)


def _strand_cards(tables: Tables) -> npt.NDArray[np.int64]:
    """Give, by strand, its hand kinds, proximal first, -1 after the last."""
    strands = tables.strands
    cards = np.full((len(strands), STRAND_CARDS), -1, dtype=np.int64)
    first = np.concatenate([[0], np.cumsum(strands.sizes)])
    for row, code in enumerate(strands.codes.tolist()):
        place = 0
        for tier, size in enumerate(strands.sizes.tolist()):
            digit = code // int(strands.places[tier]) % (size + 2)
            if digit:
                wild = digit > size
                cards[row, place] = first[-1] if wild else first[tier] + digit - 1
                place += 1
    return cards


def run(
    program: Path,
    table_file: Path,
    *,
    seed: int,
    deals: int,
    first_deal: int = 0,
    rotations: int = 1,
    repeats: int = 1,
    rows: Path | None = None,
    before: Sequence[str] = (),
) -> list[Run]:
    """Play games with the C program; gives its timings, one a repeat.

    ``before``: words put before the command, such as a profiler's.
    """
    numbers = map(str, (seed, first_deal, deals, rotations, repeats))
    command = [*before, str(program), str(table_file), *numbers, *([str(rows)] if rows else [])]
    done = subprocess.run(command, check=True, capture_output=True, text=True)
    found = []
    for line in done.stdout.splitlines():
        seconds, games, decisions, choices_made = line.split()
        found.append(Run(float(seconds), int(games), int(decisions), int(choices_made)))
    return found


def read_columns(path: Path, tables: Tables, games: int) -> dict[str, npt.NDArray[np.integer]]:
    """Read the rows that the C program left, as columns by the names of the engine's."""
    seats, targets, kinds = tables.seats, len(tables.targets), len(tables.hand_kinds)
    groups = [
        (GAME_COLUMNS, 1),
        (SEAT_COLUMNS, seats),
        (TARGET_COLUMNS, targets),
        (KIND_COLUMNS, kinds),
    ]
    width = sum(len(names) * size for names, size in groups)
    data = path.read_bytes()
    table = np.frombuffer(data, dtype="<i4", count=games * width).reshape(games, width)
    columns: dict[str, npt.NDArray[np.integer]] = {}
    for name, start, size in _places(groups):
        column = table[:, start : start + size]
        columns[name] = column[:, 0] if name in GAME_COLUMNS else column
    opening = np.frombuffer(data, dtype="<u8", offset=4 * games * width)
    columns["opening"] = opening.reshape(games, seats)
    return columns


def _places(groups: list[tuple[list[str], int]]) -> Iterator[tuple[str, int, int]]:
    start = 0
    for names, size in groups:
        for name in names:
            yield name, start, size
            start += size
