"""Who sits where: people with a token each, computer players with a style; codes to join by.

A token is random text that nobody can guess; only its SHA-256 is kept. The token of
spectators follows from a secret of the storage, so that it need not be kept at all.
"""

from __future__ import annotations

import hashlib
import hmac
import secrets
from collections.abc import Collection
from dataclasses import dataclass
from typing import Any, Literal

from nervure import words
from nervure.engine.line_up import style_of
from nervure.errors import BadUsage

LETTERS = "BCDFGHJKMNPRSTWXYZ"
"""Of the codes: no vowels (no words by chance), nothing that looks like another letter."""

CODE_LENGTH = 4
MOST_NAME = 40
TOKEN_BYTES = 24
SPECTATOR_PREFIX = "w-"
Kind = Literal["person", "computer"]


@dataclass(frozen=True, slots=True)
class SeatPlan:
    """Who shall sit at a seat: a person (by name, or "" to be joined later), or a style."""

    kind: Kind = "person"
    name: str = ""
    style: str = ""


@dataclass(frozen=True, slots=True)
class Seated:
    """Who sits at a seat now. ``token_hash``: "" for a computer player and an empty seat."""

    kind: Kind
    name: str = ""
    style: str = ""
    token_hash: str = ""

    @property
    def is_free(self) -> bool:
        """Whether a person may still sit down here."""
        return self.kind == "person" and not self.token_hash

    def called(self, seat: int) -> str:
        """Give what the seat (from 0) is called in sentences."""
        if self.kind == "computer":
            return words.say("table.who.computer", seat=seat + 1, style=self.style)
        return self.name or words.say("table.who.seat", seat=seat + 1)


def checked_style(style: str) -> str:
    """Give a style that a computer player can have at a table.

    Raises
    ------
    UnknownName
        There is no such style.
    BadUsage
        It is one that knows a part of the map only.
    """
    style_of(style)
    if "@" in style:  # a seat's share of knowledge is dealt with the cards and cannot change hands
        raise BadUsage(words.say("table.cannot.part-of-map", style=style))
    return style


def checked_name(name: str) -> str:
    """Give a display name on one line.

    Raises
    ------
    BadUsage
        It is blank or too long.
    """
    clean = " ".join("".join(c if c.isprintable() else " " for c in name).split())
    if not clean or len(clean) > MOST_NAME:
        raise BadUsage(words.say("table.cannot.no-name", most=MOST_NAME))
    return clean


def new_code(taken: Collection[str]) -> str:
    """Give a code of four letters that no running table has."""
    while True:
        code = "".join(secrets.choice(LETTERS) for _ in range(CODE_LENGTH))
        if code not in taken:
            return code


def new_token() -> str:
    """Give a token that nobody can guess."""
    return secrets.token_urlsafe(TOKEN_BYTES)


def hash_of(token: str) -> str:
    """Give what is kept of a token."""
    return hashlib.sha256(token.encode("utf-8")).hexdigest()


def spectator_token(secret: bytes, table_id: int) -> str:
    """Give the token of a table's spectators."""
    found = hmac.new(secret, f"spectators of table {table_id}".encode(), hashlib.sha256)
    return SPECTATOR_PREFIX + found.hexdigest()


def seat_token(secret: bytes, table_id: int, seat: int) -> str:
    """Give the token of a seat that is named when its table is laid."""
    return hmac.new(
        secret, f"seat {seat} of table {table_id}".encode(), hashlib.sha256
    ).hexdigest()


def is_same(one: str, other: str) -> bool:
    """Compare two texts in a time that does not tell where they differ."""
    return hmac.compare_digest(one.encode("utf-8"), other.encode("utf-8"))


def seated_of(data: dict[str, Any]) -> Seated:
    """Give who sits at a seat from plain data of settings or log."""
    return Seated(
        kind="computer" if data.get("who") == "computer" else "person",
        name=str(data.get("name", "")),
        style=str(data.get("style", "")),
        token_hash=str(data.get("token", "")),
    )
