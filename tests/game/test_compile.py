from dataclasses import fields
from pathlib import Path

import numpy as np
import pytest

from nervure.errors import BadUsage, FaultyProject
from nervure.game.compile import compile_game, salt
from nervure.game.tables import POINTS_COLUMNS, Draw, Rule, StrandTables, Tables, TieBreak

PAGE = Path(__file__).parents[2] / "docs" / "tables.md"


def _page_rows():
    """Give the page's tables: field -> (type, shape), of both tables together."""
    rows = {}
    for line in PAGE.read_text("utf-8").splitlines():
        cells = [cell.strip() for cell in line.strip("|").split("|")]
        if line.startswith("| ") and len(cells) >= 4 and cells[0] not in ("field", "---"):
            rows[cells[0]] = (cells[1], cells[2])
    return rows


@pytest.fixture
def tables(make_game, small) -> Tables:
    return compile_game(make_game(rules=small), 2)


@pytest.mark.parametrize("record", [Tables, StrandTables])
def test_the_page_names_every_field(record):
    assert {field.name for field in fields(record)} <= set(_page_rows())


def test_the_page_names_no_field_that_does_not_exist():
    known = {field.name for record in (Tables, StrandTables) for field in fields(record)}

    assert set(_page_rows()) <= known


def _dimensions(tables):
    strands = tables.strands
    return {
        "T": len(tables.targets),
        "P": len(tables.placed_kinds),
        "K": len(tables.hand_kinds),
        "B": len(tables.bonus_ids),
        "N": len(strands),
        "tiers": len(tables.tiers),
        "tiers + 1": len(tables.tiers) + 1,
        "words": len(strands.bits),
        "part cards": int(tables.rules[Rule.PART_CARDS]),
        "target cards": int(tables.rules[Rule.TARGET_CARDS]),
        "1 + 3 parts": tables.bonuses.shape[1],
    }


def test_types_and_shapes_are_those_of_the_page(tables):
    sizes = _dimensions(tables)

    for name, (kind, shape) in _page_rows().items():
        if kind in ("text", "") or not shape:
            continue
        holder = tables if hasattr(tables, name) and name != "tiers" else tables.strands
        array = getattr(holder, name)
        wanted = [
            sizes[part] if part in sizes else int(part)
            for part in shape.split(" or ")[0].strip("()").split(", ")
            for part in [part.strip(",")]
        ]
        assert array.dtype == kind, name
        assert list(array.shape) == wanted, name


def test_the_salt_is_the_start_of_the_sha_256():
    # SHA-256 of "abc" begins ba7816bf 8f01cfea (FIPS 180-2, appendix B.1); little endian.
    assert salt("abc") == 0xEACF018FBF1678BA


def test_every_copy_has_its_own_salt(tables):
    assert len(set(tables.card_salts.tolist())) == len(tables.card_salts)
    assert salt(f"{tables.hand_kinds[0]}#1") == int(tables.card_salts[0])
    assert salt(f"{tables.hand_kinds[0]}#2") == int(tables.card_salts[1])


def test_points_rise_with_the_ladder_and_stay_at_its_last_value(make_game, small):
    game = make_game(rules=small)
    tables = compile_game(game, 2)

    for row, target in enumerate(game.targets):
        ladder = game.points_of[target]
        minimum = game.rules.claim_minimum
        wanted = [ladder[min(max(n - minimum, 0), len(ladder) - 1)] for n in range(1, 7)]
        assert tables.points[row, 1:POINTS_COLUMNS].tolist() == wanted


def test_values_by_players_are_resolved(make_game, small):
    game = make_game(rules={**small, "players": (1, 3), "hand": {"1": 2, "3": 1}})

    assert [int(compile_game(game, n).rules[Rule.HAND]) for n in (1, 2, 3)] == [2, 2, 1]


def test_rules_stand_in_the_vector(make_game, small):
    game = make_game(
        rules={
            **small,
            "draws": ("stock", "lift"),
            "tie_breaks": ("last-seat", "target:ma"),
            "end": ("clock: 7", "claims: 1"),
        }
    )

    rules = compile_game(game, 2).rules

    assert rules[Rule.DRAWS] == Draw.STOCK | Draw.LIFT
    assert rules[Rule.TIE_BREAKS] == TieBreak.LAST_SEAT
    assert rules[Rule.TIE_BREAKS + 1] == TieBreak.TARGET + game.targets.index("ma")
    # 7 minutes of turns of 35 seconds: 12.
    assert rules[Rule.END_TURNS] == 12
    assert rules[Rule.END_CLAIMS] == 1


def test_games_that_differ_in_hand_size_share_their_strand_tables(make_game, small):
    one = compile_game(make_game(rules={**small, "hand": 1}), 2)
    other = compile_game(make_game(rules=small), 2)

    assert one.strands is other.strands


def test_seven_seats_are_refused(make_game, small):
    with pytest.raises(BadUsage, match="1 to 6"):
        compile_game(make_game(rules=small), 7)


def test_a_faulty_game_is_refused_with_its_faults(make_game):
    game = make_game(rules={"hand": 99})

    with pytest.raises(FaultyProject, match="hand"):
        compile_game(game, 2)


def test_a_bonus_that_asks_three_times_is_refused(make_game, small):
    bonus = {
        "id": "much",
        "when": "one-time",
        "does": ("exchange-open", "exchange-open", "move-end"),
    }

    with pytest.raises(FaultyProject, match="at most 2"):
        compile_game(make_game(rules=small, bonus=(bonus,)), 2)


def test_the_directory_finds_every_joined_code(tables):
    strands = tables.strands
    space = int(strands.places[-1])

    found = {code: strands.id_of(code) for code in range(space)}

    assert [code for code, number in found.items() if number >= 0] == strands.codes.tolist()
    assert np.array_equal(
        [number for number in found.values() if number >= 0], np.arange(len(strands))
    )
