"""Sheets, scripts and faces: files of the package, each under an address with its digest."""

from __future__ import annotations

import base64
import hashlib
import re
from importlib import resources

from fastapi import Request
from fastapi.responses import Response

from nervure.report.pages import asset

KINDS = {
    "css": "text/css; charset=utf-8",
    "js": "text/javascript; charset=utf-8",
    "svg": "image/svg+xml",
    "txt": "text/plain; charset=utf-8",
    "woff2": "font/woff2",
}
YEAR = 31_536_000  # seconds
_FACE = re.compile(r"url\(data:font/woff2;base64,([A-Za-z0-9+/=]+)\)")


class Statics:
    """Everything that can be asked for under ``/static/``, held in memory.

    ``report.css`` is the sheet of the pages in ``out/``, from which the workbench takes
    its tokens and its leaf; ``faces.css`` names the faces, ``faces/N.woff2`` are they.
    ``pages/ID/`` holds the sheet and the script of a page.
    """

    def __init__(self) -> None:
        self._files: dict[str, bytes] = {
            "report.css": asset("pages.css").encode(),
            "playtest.css": asset("playtest.css").encode(),
        }
        self._take_faces()
        root = resources.files("nervure.web")
        for entry in (root / "static").iterdir():
            if entry.is_file() and _kind(entry.name):
                self._files[entry.name] = entry.read_bytes()
        for entry in (root / "static" / "vendor").iterdir():
            if _kind(entry.name):
                self._files[f"vendor/{entry.name}"] = entry.read_bytes()
        for folder in (root / "pages").iterdir():
            if folder.is_dir():
                for entry in folder.iterdir():
                    if entry.name.endswith((".css", ".js")):
                        self._files[f"pages/{folder.name}/{entry.name}"] = entry.read_bytes()
        self._digest = {
            name: hashlib.sha256(data).hexdigest()[:12] for name, data in self._files.items()
        }

    def _take_faces(self) -> None:
        """Take the faces out of the sheet in which the pages of ``out/`` carry them."""

        def taken(found: re.Match[str]) -> str:
            name = f"faces/{len(self._files)}.woff2"
            self._files[name] = base64.b64decode(found.group(1))
            return f"url({name})"

        self._files["faces.css"] = _FACE.sub(taken, asset("fonts.css")).encode()

    def has(self, name: str) -> bool:
        """Tell whether there is such a file."""
        return name in self._files

    def address(self, name: str) -> str:
        """Give the address of a file; it changes with the content. KeyError: no such file."""
        return f"/static/{name}?v={self._digest[name]}"

    def answer(self, name: str, request: Request) -> Response:
        """Give a file, or 404."""
        if name not in self._files:
            return Response(status_code=404)
        headers = {"etag": f'"{self._digest[name]}"', "cache-control": "no-cache"}
        if request.query_params.get("v") == self._digest[name] or name.endswith(".woff2"):
            headers["cache-control"] = f"max-age={YEAR}, immutable"
        if request.headers.get("if-none-match") == headers["etag"]:
            return Response(status_code=304, headers=headers)
        return Response(self._files[name], media_type=KINDS[_kind(name)], headers=headers)


def _kind(name: str) -> str:
    """Give the ending of a file that may be served, else ""."""
    ending = name.rsplit(".", 1)[-1]
    return ending if ending in KINDS else ""
