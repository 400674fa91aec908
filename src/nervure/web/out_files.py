"""Files of a project shown as they are: only those of ``out/``, under a policy of their own."""

from __future__ import annotations

from pathlib import Path
from typing import TypeVar

from starlette.responses import Response

# Pages of out/ hold their style in themselves and run no script; nothing of them may act here.
OUT_POLICY = (
    "sandbox allow-popups; default-src 'none'; style-src 'unsafe-inline'; img-src data: 'self'; "
    "font-src data:; base-uri 'none'; form-action 'none'; frame-ancestors 'none'"
)
SHOWN_KINDS = {
    ".html": "text/html; charset=utf-8",
    ".csv": "text/csv; charset=utf-8",
    ".json": "application/json",
    ".pdf": "application/pdf",
    ".svg": "image/svg+xml",
    ".png": "image/png",
    ".txt": "text/plain; charset=utf-8",
    ".parquet": "application/octet-stream",
}

_Answer = TypeVar("_Answer", bound=Response)


def file_of_out(project: Path, name: str) -> Path | None:
    """Give a file of a project's ``out/`` by its name there; None if it is not one.

    What leads out of the folder, by dots or by a link, is none.
    """
    root = (project / "out").resolve()
    if "\0" in name or "\\" in name:
        return None
    try:
        file = (root / name).resolve()
    except (OSError, RuntimeError):
        return None
    is_shown = file.is_relative_to(root) and file.suffix.lower() in SHOWN_KINDS
    return file if is_shown and file.is_file() else None


def sandboxed(answer: _Answer) -> _Answer:
    """Put an answer under the policy of files made for reading elsewhere."""
    answer.headers["content-security-policy"] = OUT_POLICY
    answer.headers["cache-control"] = "no-store"
    return answer
