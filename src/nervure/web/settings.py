"""What the workbench is told when it starts."""

from __future__ import annotations

from dataclasses import dataclass, field
from pathlib import Path

MEGABYTE = 1_000_000
LOOPBACK = ("127.0.0.1", "localhost", "::1")


@dataclass(frozen=True, slots=True)
class Settings:
    """What the workbench is told when it starts.

    Attributes
    ----------
    host, port
        Where it listens.
    secret
        Signs the cookies.
    home
        The folder in which new projects are made.
    host_key
        Opens the pages that edit, when others can reach them; "" on loopback alone.
    join_code
        Lets players in, when others can reach them.
    also_known_as
        Further names of this machine that the Host header may hold.
    largest_form, largest_upload
        Bytes of a posted form, and of one with files.
    pace
        Seconds before each move of a computer player, so that people can follow.
    reads_a_second, writes_a_second
        Requests that one address may make over time; `BURST` seconds' worth at once.
    """

    secret: bytes
    home: Path
    host: str = "127.0.0.1"
    port: int = 8731
    host_key: str = ""
    join_code: str = ""
    also_known_as: tuple[str, ...] = ()
    largest_form: int = 4 * MEGABYTE
    largest_upload: int = 21 * MEGABYTE
    reads_a_second: float = 60.0
    writes_a_second: float = 12.0
    pace: float = 0.9
    language: str = field(default="en")

    @property
    def is_shared(self) -> bool:
        """Whether other machines can reach it."""
        return self.host not in LOOPBACK
