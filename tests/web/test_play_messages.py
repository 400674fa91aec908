"""What a device sends: one shape is a move, everything else is refused and nothing breaks."""

from __future__ import annotations

import json
import random
from typing import Any

import pytest

from nervure.web.pages.play.socket import BURST, MESSAGES_A_SECOND, Misshapen, Rate, read_message


@pytest.mark.parametrize(
    "text",
    [
        "",
        "null",
        "7",
        "[]",
        '"undo"',
        "{}",
        '{"position": 3}',
        '{"move": 1}',
        '{"position": "3", "move": 1}',
        '{"position": true, "move": 1}',
        '{"position": 3.0, "move": 1}',
        '{"position": -1, "move": 1}',
        '{"position": 99999999999, "move": 1}',
        '{"position": NaN, "move": 1}',
        '{"position": 3, "move": Infinity}',
        '{"position": 3, "move": 1, "seat": 2}',
        '{"position": 3, "move": 1}}',
        "[" * 1500,
        '{"position": 3, "move": ' + "[" * 900,
    ],
)
def test_what_is_no_move_is_misshapen(text: str) -> None:
    with pytest.raises(Misshapen):
        read_message(text)


def test_a_move_is_read_as_it_was_sent() -> None:
    sent = read_message('{"position": 12, "move": {"number": 8, "args": [1, 4]}}')
    assert (sent.position, sent.move) == (12, {"number": 8, "args": [1, 4]})


def _random_json(chance: random.Random, depth: int = 0) -> Any:
    kinds = ["null", "bool", "int", "float", "text", *(["list", "dict"] if depth < 4 else [])]
    kind = chance.choice(kinds)
    if kind == "null":
        return None
    if kind == "bool":
        return chance.random() < 0.5
    if kind == "int":
        return chance.randint(-(2**70), 2**70)
    if kind == "float":
        return chance.uniform(-1e9, 1e9)
    if kind == "text":
        return "".join(chr(chance.randint(1, 0xD7FF)) for _ in range(chance.randint(0, 12)))
    if kind == "list":
        return [_random_json(chance, depth + 1) for _ in range(chance.randint(0, 4))]
    keys = ["position", "move", "seat", "token", "undo", ""]
    return {chance.choice(keys): _random_json(chance, depth + 1) for _ in range(3)}


def test_random_json_is_read_or_misshapen_and_raises_nothing_else() -> None:
    chance = random.Random(20)
    read = 0
    for _ in range(4000):
        try:
            sent = read_message(json.dumps(_random_json(chance)))
        except Misshapen:
            continue
        read += 1
        assert type(sent.position) is int
        assert 0 <= sent.position < 2**31
    assert read < 4000


def test_random_bytes_are_misshapen() -> None:
    chance = random.Random(21)
    for _ in range(2000):
        text = chance.randbytes(chance.randint(1, 60)).decode("latin-1")
        with pytest.raises(Misshapen):
            read_message(text)


def test_the_rate_lets_a_burst_through_and_then_an_even_flow() -> None:
    now = [0.0]
    rate = Rate(lambda: now[0])
    assert all(rate.take() for _ in range(int(BURST)))
    assert not rate.take()
    now[0] += 2 / MESSAGES_A_SECOND
    assert rate.take()
