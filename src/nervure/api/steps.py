"""`all`: check, playtest and print into one folder, making only what is not there yet.

A step is kept while the digest of what it reads is the same: the files of the project
folder, and Nervure itself with its bundled maps. What a step does not read is left out of
its digest, so that a new goal does not print the deck again.
"""

from __future__ import annotations

import hashlib
import json
import os
import tomllib
from collections.abc import Callable, Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING, Any, Literal

import nervure
from nervure import project as projects
from nervure import words
from nervure.api.result import Result
from nervure.errors import NotPlayedYet

if TYPE_CHECKING:
    from nervure.api.project import Progress, Project, Stop
    from nervure.report import Step

STEPS_FILE = "steps.json"
INPUT_FILES = ("game.toml", "deck.csv", "plays.csv", "map.xlsx")
PRINTED = ("cards", "backs", "sheets", "contact")
INPUT_FOLDERS = ("map", "art", "text", "words")
SHOWN = ("name", "state", "ok", "sentence", "files")

State = Literal["made", "kept", "refused", "stopped"]
Mark = Literal["order", "attention"]


@dataclass(frozen=True, slots=True)
class Plan:
    """A step: its name, and the files and tables of game.toml that it does not read."""

    name: str
    other_files: Collection[str] = ()
    other_tables: Collection[str] = ()


# Each exception is held by a test that changes it and compares what the step makes.
PLANS = (
    Plan("check"),
    Plan("playtest", ("art", "text"), ("objectives", "tune")),
    Plan("print", ("plays.csv",), ("goals", "objectives", "tune")),
)


def do_all(project: Project, out: Path, playing: Mapping[str, Any]) -> Result:
    """Check, playtest and print; see `nervure.api.Project.all`.

    ``playing`` are options of `nervure.api.Project.playtest`, of which ``progress`` and
    ``stop`` hold for the other steps, too.
    """
    progress: Progress | None = playing["progress"]
    stop: Stop | None = playing["stop"]
    from nervure.report import index_page  # pages: not needed to refuse bad input

    title = project.folder.title
    before = _read_steps(out)
    steps: list[dict[str, Any]] = []
    reason = ""
    for plan in PLANS:
        if reason or (steps and stop is not None and stop()):
            sentence = reason or words.say("cli.steps.stopped")
            steps.append(_unmade(plan.name, "refused" if reason else "stopped", sentence))
            continue
        inputs = inputs_of(project.path, plan)
        kept = before.get(plan.name)
        if kept and kept["inputs"] == inputs and _all_there(out, kept["files"]):
            step = kept | {"state": "kept"}
        else:
            if progress is not None:
                progress(words.say(f"cli.doing-{plan.name}"), 0, 0)
            step = _make(plan.name, _verb(project, plan.name, out, playing), out)
            step["inputs"] = inputs
        steps.append(step)
        if plan.name == "check" and not step["ok"]:
            reason = words.say("cli.steps.refused")
        if step["state"] in ("made", "kept"):
            before[plan.name] = step
        else:
            before.pop(plan.name, None)
        # After each step: what is done stays done, whatever comes.
        text = json.dumps(before, ensure_ascii=False, indent=1) + "\n"
        projects.write_text_safely(out / STEPS_FILE, text, keep_backup=False)
    index = out / "index.html"
    projects.write_text_safely(index, index_page(title, tuple(_leaves(steps))), keep_backup=False)
    shown = [{key: step[key] for key in SHOWN} for step in steps]
    data = {
        "ok": all(step["ok"] for step in steps),
        "faults": [fault.to_dict() for fault in project.faults] if reason else [],
        "stopped": any(step["state"] == "stopped" for step in steps),
        "steps": shown,
        "index": str(index),
        "caution": words.say("caution.lesions"),
    }
    summary = words.say("cli.open-this", file=index)
    return Result("all", data, summary, shown, ("name", "state", "sentence"))


def _verb(
    project: Project, name: str, out: Path, playing: Mapping[str, Any]
) -> Callable[[], Result]:
    verbs: dict[str, Callable[[], Result]] = {
        "check": lambda: project.check(out=out),
        "playtest": lambda: project.playtest(out=out, **playing),
        "print": lambda: project.print(PRINTED, out=out),
    }
    return verbs[name]


def _make(name: str, make: Callable[[], Result], out: Path) -> dict[str, Any]:
    """Make a step; gives its state, what it found in a sentence, and the files to open."""
    try:
        result = make()
    except NotPlayedYet as error:
        return _unmade(name, "refused", str(error)) | {"ok": True}
    data = result.to_dict()
    paths = [file["path"] if isinstance(file, Mapping) else file for file in data["files"]]
    stopped = bool(data.get("stopped"))
    return {
        "name": name,
        "state": "stopped" if stopped else "made",
        "ok": bool(data.get("ok", True)),
        "attention": _needs_attention(data),
        "sentence": result.summary,
        "files": [os.path.relpath(path, out).replace(os.sep, "/") for path in paths],
    }


def _needs_attention(data: Mapping[str, Any]) -> bool:
    verdicts = data.get("verdicts", ())
    fails = any(verdict["verdict"] == "fails" for verdict in verdicts)
    return not data.get("ok", True) or fails or bool(data.get("refused"))


def _unmade(name: str, state: State, sentence: str) -> dict[str, Any]:
    return {
        "name": name,
        "state": state,
        "ok": False,
        "attention": False,
        "sentence": sentence,
        "files": [],
    }


def _leaves(steps: Sequence[Mapping[str, Any]]) -> Iterator[Step]:
    """Give the steps as the index page shows them."""
    from nervure.report import Step

    for step in steps:
        title = words.say(f"cli.step.{step['name']}")
        if not step["files"]:
            yield Step(title, "", "unmade", step["sentence"])
        else:
            mark: Mark = "attention" if step["attention"] else "order"
            pictures = [file for file in step["files"] if file.endswith(".png")]
            yield Step(
                title,
                step["files"][0],
                mark,
                step["sentence"],
                files=tuple(file for file in step["files"] if file not in pictures),
                picture=pictures[0] if pictures else "",
            )


def _read_steps(out: Path) -> dict[str, dict[str, Any]]:
    """Give the steps made before; none where their record is not as it was left."""
    try:
        found = json.loads((out / STEPS_FILE).read_text("utf-8"))
        return {
            name: step
            for name, step in found.items()
            if {"inputs", "attention", *SHOWN} <= step.keys()
        }
    except (OSError, ValueError, AttributeError):
        return {}


def inputs_of(folder: Path, plan: Plan) -> str:
    """Give the digest of everything that a step reads."""
    total = hashlib.sha256(_own_digest().encode())
    for path in sorted(_input_files(folder)):
        name = path.relative_to(folder).as_posix()
        if name.split("/")[0] in plan.other_files:
            continue
        total.update(name.encode() + b"\0")
        content = path.read_bytes()
        if name == "game.toml":
            content = _without(content, plan.other_tables)
        total.update(hashlib.sha256(content).digest())
    return total.hexdigest()


def _input_files(folder: Path) -> Iterator[Path]:
    for name in INPUT_FILES:
        if (folder / name).is_file():
            yield folder / name
    for name in INPUT_FOLDERS:
        for path in (folder / name).rglob("*"):
            if path.is_file() and not path.name.endswith((".bak", ".tmp")):
                yield path


def _without(content: bytes, tables: Collection[str]) -> bytes:
    """Give game.toml without some tables; as it stands where it cannot be understood."""
    try:
        data = tomllib.loads(content.decode("utf-8-sig"))
    except ValueError:
        return content
    left = {key: value for key, value in data.items() if key not in tables}
    return json.dumps(left, sort_keys=True, default=str).encode()


@cache
def _own_digest() -> str:
    """Give the digest of Nervure's own files, bundled maps included."""
    package = Path(nervure.__file__).parent
    total = hashlib.sha256()
    for path in sorted(package.rglob("*")):
        if path.is_file() and "__pycache__" not in path.parts:
            total.update(path.relative_to(package).as_posix().encode() + b"\0")
            total.update(path.read_bytes())
    return total.hexdigest()


def _all_there(out: Path, files: Sequence[str]) -> bool:
    return all((out / file).is_file() for file in files)
