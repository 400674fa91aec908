"""`nervure open`: its port, what it tells, how it ends."""

from __future__ import annotations

import os
import re
import signal
import socket
import subprocess
import sys
import urllib.error
import urllib.request
from pathlib import Path

import pytest

from nervure.errors import BadUsage, FaultyProject
from nervure.web import Settings, serve
from nervure.web.serving import KEY_LETTERS, _door, _key, _lines, address, data_folder


def test_the_command_serves_until_it_is_interrupted(project: Path, tmp_path: Path) -> None:
    process = subprocess.Popen(
        [sys.executable, "-c", "from nervure.cli import main; main()", "open", str(project)],
        env={**os.environ, "NERVURE_DATA": str(tmp_path / "kept")},
        stdout=subprocess.PIPE,
        stderr=subprocess.STDOUT,
        text=True,
    )
    assert process.stdout is not None
    told = ""
    while "no diagnostic aid" not in told:
        line = process.stdout.readline()
        assert line, told
        told += line
    found = re.search(r"http://127\.0\.0\.1:\d+/", told)
    assert found

    # The door is open before the address is told, so a request waits for the first answer.
    with urllib.request.urlopen(found.group() + "p/barges/map", timeout=30) as answer:
        assert answer.status == 200
        assert "server" not in {name.lower() for name in answer.headers}
    with pytest.raises(urllib.error.HTTPError, match="421"):
        urllib.request.urlopen(
            urllib.request.Request(found.group(), headers={"Host": "evil.example"}), timeout=30
        )
    process.send_signal(signal.SIGINT)
    rest = process.communicate(timeout=30)[0]

    assert "Traceback" not in rest
    assert (tmp_path / "kept" / "workbench.sqlite3").exists()


def test_a_missing_folder_is_told_before_anything_opens(tmp_path: Path) -> None:
    with pytest.raises(FaultyProject, match="no such folder"):
        serve([tmp_path / "missing"], tell=print, data=tmp_path / "kept")

    assert not (tmp_path / "kept").exists()


def test_a_port_that_is_taken_is_told() -> None:
    with socket.socket() as taken:
        taken.bind(("127.0.0.1", 0))
        taken.listen()
        port = taken.getsockname()[1]

        with pytest.raises(BadUsage, match=f"Port {port}"):
            _door("127.0.0.1", port)


def test_shared_it_tells_both_keys_and_that_nothing_is_encrypted() -> None:
    settings = Settings(b"", Path(), host="0.0.0.0", host_key="HOSTKEY2", join_code="JOIN")

    told = " ".join(_lines(settings))

    assert "HOSTKEY2" in told
    assert "JOIN" in told
    assert "not encrypted" in told
    assert address(settings) == "http://127.0.0.1:8731/"


def test_alone_it_tells_no_key() -> None:
    assert "key" not in " ".join(_lines(Settings(b"", Path()))).lower()


def test_keys_hold_no_letter_that_is_taken_for_another() -> None:
    assert not set("01OIL") & set(KEY_LETTERS)
    assert len({_key(8) for _ in range(50)}) == 50


def test_the_storage_has_a_folder_of_ones_own(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("NERVURE_DATA", "elsewhere")
    assert data_folder() == Path("elsewhere")

    monkeypatch.delenv("NERVURE_DATA")
    assert data_folder() == Path.home() / ".nervure"
