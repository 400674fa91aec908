"""What the README tells a reader to type works as it stands."""

import re
import shlex
from pathlib import Path

import pytest

from nervure.cli import main

README = Path(__file__).resolve().parents[2] / "README.md"
BLOCKS = re.findall(r"<!-- run -->\n```sh\n(.*?)```", README.read_text("utf-8"), re.S)


def test_the_readme_has_commands_to_run() -> None:
    assert BLOCKS


@pytest.mark.parametrize("block", BLOCKS, ids=lambda block: block.splitlines()[-1])
def test_the_commands_of_the_readme_run_as_they_stand(
    block: str,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    monkeypatch.chdir(tmp_path)
    for line in block.splitlines():
        program, *arguments = shlex.split(line, comments=True) or ["#"]
        if program == "#":
            continue
        assert program == "nervure"

        with pytest.raises(SystemExit) as end:
            main(arguments)

        assert end.value.code == 0, f"{line}\n{capsys.readouterr().err}"
