"""One template of the package, compiled with given data to PDF, PNG or queried values.

The same data give the same bytes: fonts are the vendored ones only, the timestamp is
passed in, and deck text travels as data (JSON), so that it stays literal. Templates find
one another by paths from the package root, as in ``#import "/typeset/herbarium.typ"``.
"""

from __future__ import annotations

import datetime
import json
from collections.abc import Mapping
from functools import cache
from pathlib import Path
from threading import RLock
from typing import Any, cast

import typst

from nervure.typeset import fonts
from nervure.typeset.palette import HERBARIUM
from nervure.typeset.png import with_resolution

PACKAGE = Path(__file__).parent.parent
FIXED_TIME = datetime.datetime(2000, 1, 1, tzinfo=datetime.UTC)
PROOF_STANDARDS = ("ua-1", "a-2a")


class TypesettingError(RuntimeError):
    """A template failed: a mistake of the program, since texts were measured before."""


@cache
def _fonts() -> typst.Fonts:
    return typst.Fonts(
        include_system_fonts=False,
        include_embedded_fonts=False,
        font_paths=[str(fonts.FOLDER)],
    )


class Typesetter:
    """Compiles one template; keep it, since a second run with near data is much faster.

    Parameters
    ----------
    template
        Path of a ``.typ`` file from the package root, such as ``press/deck.typ``. It reads
        its data by ``json(bytes(sys.inputs.data))``; ``palette`` in the data chooses the
        colours (`nervure.typeset.palette.Palette.to_data`), else the default ones are given.

    May be used from several threads; they wait for one another.
    """

    def __init__(self, template: str) -> None:
        self._compiler = typst.Compiler(
            str(PACKAGE / template), root=str(PACKAGE), font_paths=_fonts()
        )
        self._lock = RLock()  # the compiler refuses a second call while one runs

    def pdf(self, data: Mapping[str, Any], time: datetime.datetime = FIXED_TIME) -> bytes:
        """Make the tagged PDF (PDF/UA-1 and PDF/A-2a rules are enforced while compiling)."""
        made = self._compile(
            data, format="pdf", pdf_standards=list(PROOF_STANDARDS), timestamp=time
        )
        return cast(bytes, made)

    def png(self, data: Mapping[str, Any], dots_per_inch: float) -> list[bytes]:
        """Make one PNG a page, its resolution written into it."""
        made = self._compile(data, format="png", ppi=dots_per_inch)
        pages = made if isinstance(made, list) else [made]
        return [with_resolution(page, dots_per_inch) for page in pages]

    def values(self, data: Mapping[str, Any], label: str) -> Any:
        """Give the value of the one ``metadata`` that the template labels ``<label>``."""
        # Only compile() takes data; a picture at this resolution costs next to nothing.
        with self._lock:
            self._compile(data, format="png", ppi=10)
            return json.loads(self._compiler.query(f"<{label}>", field="value", one=True))

    def _compile(self, data: Mapping[str, Any], **options: Any) -> bytes | list[bytes]:
        palette = data.get("palette") or HERBARIUM.to_data()
        inputs = {"data": _json(data), "palette": _json(palette)}
        try:
            with self._lock:
                made, warnings = self._compiler.compile_with_warnings(sys_inputs=inputs, **options)
        except typst.TypstError as error:
            raise TypesettingError(error.diagnostic) from error
        if warnings:
            raise TypesettingError("\n".join(warning.diagnostic for warning in warnings))
        return cast("bytes | list[bytes]", made)


def _json(data: object) -> str:
    return json.dumps(data, ensure_ascii=False, separators=(",", ":"))
