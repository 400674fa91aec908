"""Commands load what they need and no more."""

import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest

PLAYING = {"numba", "altair", "vl_convert", "scipy", "polars"}


@pytest.mark.parametrize(
    ("arguments", "left_out"),
    [
        (["check", "G"], PLAYING),
        (["pathways", "G", "herb-bed"], PLAYING | {"pydantic_settings", "typst", "jinja2"}),
        (["cut", "G", "north-pipe"], PLAYING | {"typst", "jinja2"}),
        (["localize", "G", "--affected", "rose-bed"], PLAYING | {"typst", "jinja2"}),
        (["print", "G", "--what", "backs"], {"numba", "altair", "vl_convert", "polars"}),
    ],
    ids=lambda value: value[0] if isinstance(value, list) else "",
)
def test_a_command_leaves_out_what_it_does_not_need(
    arguments: list[str], left_out: set[str], garden: Any
) -> None:
    folder: Path = garden()
    given = [str(folder) if part == "G" else part for part in arguments]
    script = (
        "import sys\nfrom nervure.cli import main\n"
        f"try:\n    main({[*given, '--quiet']!r})\nexcept SystemExit as end:\n"
        "    assert not end.code, end.code\n"
        f"print(*sorted({left_out!r} & set(sys.modules)))\n"
    )

    done = subprocess.run([sys.executable, "-c", script], capture_output=True, text=True)

    assert (done.stderr, done.stdout.strip()) == ("", "")
