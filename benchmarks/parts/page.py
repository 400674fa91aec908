"""The page of results: sections with tables, on the terminal and in RESULTS.md."""

from __future__ import annotations

import datetime
import os
import platform
import re
import shutil
import subprocess
from collections.abc import Sequence
from dataclasses import dataclass, field
from importlib import metadata
from pathlib import Path


@dataclass
class Section:
    """A table with its title, and remarks under it."""

    title: str
    header: list[str]
    rows: list[list[str]]
    notes: list[str] = field(default_factory=list)

    def text(self) -> str:
        """Give the section as Markdown."""
        lines = [f"## {self.title}"]
        if self.rows:
            lines += [_line(self.header), _line(["---"] * len(self.header))]
            lines += [_line(row) for row in self.rows]
        return "\n".join([*lines, *([""] if self.notes and self.rows else []), *self.notes])


def _line(cells: Sequence[str]) -> str:
    return f"| {' | '.join(cells)} |"


def ratio(value: float) -> str:
    """Give a ratio with as many digits as it deserves."""
    return f"{value:,.0f}" if value >= 20 else f"{value:.2f}"


def machine() -> str:
    """Tell processor, cores, system and versions in one line."""
    info = Path("/proc/cpuinfo")
    named = re.search(r"model name\s*:\s*(.+)", info.read_text()) if info.exists() else None
    processor = named.group(1).strip() if named else platform.processor() or platform.machine()
    versions = [f"Python {platform.python_version()}"]
    versions += [f"{name} {metadata.version(name)}" for name in ("numba", "llvmlite", "numpy")]
    if found := shutil.which("gcc"):
        done = subprocess.run([found, "-dumpfullversion"], capture_output=True, text=True)
        versions.append(f"gcc {done.stdout.strip()}")
    return f"{processor}, {os.cpu_count()} cores, {platform.system()}; {', '.join(versions)}"


def load() -> str:
    """Tell how busy the machine is, where the system knows."""
    return f"{os.getloadavg()[0]:.1f}" if hasattr(os, "getloadavg") else "unknown"


def page(sections: Sequence[Section], before: str, minutes: float, quick: bool) -> str:
    """Give the whole page."""
    today = datetime.datetime.now(datetime.UTC).date().isoformat()
    head = [
        "# How fast the engine plays",
        f"{today}. {machine()}.",
        f"Load when it began {before}, when it ended {load()}; {minutes:.1f} minutes"
        f"{', the short form' if quick else ''}. Written by `python benchmarks/engine.py`; what is"
        " measured and how is told in [README.md](README.md). Absolute figures drift with the"
        " machine and with who else uses it: compare within one page only.",
    ]
    return "\n\n".join([*head, *(section.text() for section in sections)]) + "\n"
