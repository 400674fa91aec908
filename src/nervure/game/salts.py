"""Salts: whole numbers made of texts, for the chance of docs/rules.md."""

from __future__ import annotations

import hashlib


def salt(text: str) -> int:
    """Give the salt of a text: the first 8 bytes, little endian, of its SHA-256 (UTF-8)."""
    return int.from_bytes(hashlib.sha256(text.encode()).digest()[:8], "little")
