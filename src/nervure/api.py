"""Nervure in Python: ``nervure.open(folder)`` gives a `Project`; its verbs are the commands.

A verb forwards to its workshop and packs what comes back into a `Result`: plain data under
the keys of ``docs/commands.md``, with ``to_dict()``, ``to_polars()`` and a notebook display.
No rule and no formula stands here.
"""

from __future__ import annotations

import hashlib
import html
import json
import os
import shutil
import time
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from functools import cached_property
from pathlib import Path
from typing import TYPE_CHECKING, Any

from nervure import __version__, maps, words
from nervure import anatomy as anatomies
from nervure import project as projects
from nervure.errors import (
    BadUsage,
    Fault,
    FaultyProject,
    UnknownName,
    has_errors,
    sort_faults,
)

if TYPE_CHECKING:
    from nervure.game import Game

Progress = Callable[[str, int, int], None]

DEMO_GAME = "giants-leg"


@dataclass(frozen=True)
class Result:
    """What a verb gives back. ``table``: its main rows, for a data frame."""

    data: Mapping[str, Any]
    table: Sequence[Mapping[str, Any]] = field(default=(), repr=False)

    def to_dict(self) -> dict[str, Any]:
        """Give the result as plain data, as ``--json`` prints it."""
        return dict(self.data)

    def to_polars(self) -> Any:
        """Give the result's main table as a polars data frame."""
        import polars  # loaded on asking: most runs never need it

        return polars.DataFrame([dict(row) for row in self.table])

    def __getitem__(self, key: str) -> Any:
        return self.data[key]

    def _repr_html_(self) -> str:
        text = json.dumps(self.to_dict(), indent=1, ensure_ascii=False)
        return f"<pre>{html.escape(text)}</pre>"


class Project:
    """A project folder and the verbs that can be done with it.

    Reading happens on first use and once; nothing is written but by a verb that says so.

    Parameters
    ----------
    path
        The project's folder.
    variants
        Variants of the map to take in; None: those that game.toml names.

    Raises
    ------
    FaultyProject
        On first use, if nothing in the folder can be read.
    """

    def __init__(self, path: str | Path, variants: Iterable[str] | None = None) -> None:
        self.path = Path(path)
        self._asked_variants = None if variants is None else tuple(variants)

    @cached_property
    def folder(self) -> projects.Folder:
        """The records of the folder, with every fault that reading found."""
        return projects.read_folder(self.path)

    @cached_property
    def variants(self) -> tuple[str, ...]:
        """The variants of the map in force."""
        asked = self._asked_variants
        return self.folder.variants if asked is None else self._known_variants(asked)

    @cached_property
    def anatomy(self) -> anatomies.Anatomy:
        """The map as a graph of fibres; refuses a map with error faults."""
        folder = self.folder
        map_faults = anatomies.map_faults(folder.map, self.variants)
        faults = [fault for fault in (*folder.faults, *map_faults) if fault.level == "error"]
        if faults:
            raise FaultyProject(faults)
        return anatomies.build(folder.map, self.variants)

    @cached_property
    def game(self) -> Game:
        """The game that the folder describes; its faults included."""
        from nervure.game import read_game  # pydantic: not needed to ask the map

        return read_game(self.folder, self.variants)

    @property
    def faults(self) -> tuple[Fault, ...]:
        """Every fault of the folder, the map and the game, by file and row."""
        return sort_faults(self.game.faults)

    def require_sound(self) -> Game:
        """Give the game, or refuse with all error faults of the folder.

        Raises
        ------
        FaultyProject
            The folder, the map or the game has error faults.
        """
        if has_errors(self.faults):
            raise FaultyProject(fault for fault in self.faults if fault.level == "error")
        return self.game

    def _known_variants(self, asked: tuple[str, ...]) -> tuple[str, ...]:
        known = [variant.id for variant in self.folder.map.variants]
        for variant in asked:
            if variant not in known:
                raise UnknownName("variant", variant, known)
        return asked

    def out(self, out: str | Path | None = None) -> Path:
        """Make and give the folder for results: ``out`` in the project unless told otherwise."""
        target = self.path / "out" if out is None else Path(out)
        target.mkdir(parents=True, exist_ok=True)
        return target

    def check(self, out: str | Path | None = None, review: str | Path | None = None) -> Result:
        """Prove the anatomy and the deck; writes ``check.html`` and the review sheet.

        Parameters
        ----------
        out
            Where to write; default ``PROJECT/out``.
        review
            A review sheet that a colleague has filled in, to be read back.
        """
        from nervure.report import check_page, check_record

        record = check_record(
            self.game, self.faults, review=None if review is None else Path(review)
        )
        target = self.out(out)
        projects.write_text_safely(target / "check.html", check_page(record))
        projects.write_text_safely(target / "review.csv", record.review_sheet)
        files = [str(target / "check.html"), str(target / "review.csv")]
        data = record.to_dict() | {"files": files}
        return Result(data, data["faults"])

    def pathways(self, target: str) -> Result:
        """Give the pathways of one target, fibre by fibre, origin first.

        Raises
        ------
        UnknownName
            No such target; names the nearest.
        """
        anatomy = self.anatomy
        _known("target", target, [row.id for row in anatomy.map.targets])
        rows = [
            {"structures": list(structures), "main": main}
            for structures, main in _distinct(anatomy.pathways(target))
        ]
        return Result({"target": target, "variants": list(self.variants), "pathways": rows}, rows)

    def cut(
        self,
        sites: Sequence[str],
        via: Sequence[str] = (),
        fibres: Sequence[str] | None = None,
    ) -> Result:
        """Tell what a lesion weakens: share of supply lost by target, 0 to 1.

        Parameters
        ----------
        sites
            ``S``, ``S@n`` (at or beyond level n), ``from>to``, or the id of a named lesion.
        via
            Only fibres that passed one of these structures before.
        fibres
            Only fibres of these origins.
        """
        cut = anatomies.cut(self.anatomy, sites, via=via, fibres=fibres)
        data = {
            "sites": [str(site) for site in cut.sites],
            "affected": {target: cut.shares[target] for target in cut.affected},
            "words": {target: cut.words[target] for target in cut.affected},
            "spared": list(cut.spared),
        }
        rows = [
            {"target": target, "lost": share, "in_words": cut.words[target]}
            for target, share in cut.shares.items()
        ]
        return Result(data, rows)

    def localize(
        self, affected: Sequence[str], spared: Sequence[str] = (), error: float = 0.05
    ) -> Result:
        """Rank the sites that explain the findings, and name the most telling next examination.

        Parameters
        ----------
        affected, spared
            Targets as they were found.
        error
            Chance that a finding is wrong, 0 to 0.5.
        """
        found = anatomies.localize(self.anatomy, affected, spared, error=error)
        data = found.to_dict()
        return Result(data, data["sites"])

    def playtest(
        self,
        seats: Sequence[str] | None = None,
        *,
        players: int | None = None,
        games: int | None = None,
        precision: float | None = None,
        minutes: float | None = None,
        more: bool = False,
        seed: int = 1,
        workers: int | None = None,
        out: str | Path | None = None,
        progress: Progress | None = None,
    ) -> Result:
        """Play complete games, measure them, judge them; writes ``out/playtest/``.

        Parameters
        ----------
        seats
            A line-up of styles. None: the plan, at every number of players of the rules.
        players
            Only this number of players.
        games
            Games of the plan's first part (default 10 000) or of the line-up; with
            ``precision`` the bound (default 200 000).
        precision
            Stop when every interval is narrower than this share of its goal's width.
        minutes
            Stop after so many minutes.
        more
            Go on from the games of the last playtest of this design, seed and plan.
        seed
            The same seed gives the same games, whatever the workers.
        workers
            Threads; default as many as there are processors.

        Raises
        ------
        FaultyProject
            The folder, the map or the game has error faults.
        BadUsage
            A style, a number of players or a figure that does not fit.
        NotPlayedYet
            The game uses a rule that the engine does not play.
        """
        from nervure import playtest  # numba: only those who play wait for it

        game = self.require_sound()
        options = playtest.Options(
            seats=None if seats is None else tuple(seats),
            players=players,
            games=games,
            precision=precision,
            more=more,
            seed=seed,
            workers=workers or os.cpu_count() or 1,
        )
        target = self.out(out) / "playtest"
        target.mkdir(exist_ok=True)
        result = playtest.run(game, target, options, progress=progress, stop=_after(minutes))
        from nervure.report import playtest_page  # charts: not needed to refuse bad input

        page = target / "index.html"
        projects.write_text_safely(page, playtest_page(result, game))
        data = result.to_dict() | {"files": [str(page), str(target / "result.json")]}
        table = [figure | {"measure": name} for name, figure in data["measures"].items()]
        return Result(data, table)

    def print(
        self,
        what: Sequence[str] | None = None,
        *,
        paper: str = "a4",
        decks: int = 1,
        out: str | Path | None = None,
        progress: Progress | None = None,
    ) -> Result:
        """Make print-ready files in ``out/print/``; text that does not fit is refused by card.

        Parameters
        ----------
        what
            Of cards, backs, sheets; None: all.
        paper
            Of the home sheets: a4 or letter.
        decks
            How many decks the manifest orders.
        """
        from nervure import press  # Typst and fonts: only those who print wait for them

        game = self.require_sound()
        printed = press.print_deck(
            game, self.out(out) / "print", what=what, paper=paper, decks=decks, progress=progress
        )
        data = printed.to_dict()
        return Result(data, data["files"])

    def all(self, *, out: str | Path | None = None, progress: Progress | None = None) -> Result:
        """Check, playtest and print into ``out/``, with an index page.

        A step whose inputs have not changed since it was made is not made again; errors
        that check finds refuse the others.
        """
        from nervure.report import index_page

        target = self.out(out)
        before = _read_steps(target)
        inputs = _inputs_of(self.path, target)
        steps: list[dict[str, Any]] = []
        refused = False
        for name, make in (
            ("check", self.check),
            ("playtest", self.playtest),
            ("print", self.print),
        ):
            kept = before.get(name)
            if refused:
                sentence = words.say("cli.steps.refused")
                steps.append({"name": name, "state": "refused", "sentence": sentence, "files": []})
                continue
            if kept and kept["inputs"] == inputs and _all_there(target, kept["files"]):
                step = kept | {"state": "kept"}
            else:
                options: dict[str, Any] = {} if name == "check" else {"progress": progress}
                step = _step(name, make(out=target, **options), target) | {"inputs": inputs}
            refused = name == "check" and not step["ok"]
            steps.append(step)
        made = {step["name"]: step for step in steps if step["state"] != "refused"}
        projects.write_text_safely(target / STEPS_FILE, json.dumps(made, indent=1) + "\n")
        projects.write_text_safely(target / "index.html", index_page(self.folder.title, steps))
        shown = [
            {key: step[key] for key in ("name", "state", "sentence", "files")} for step in steps
        ]
        return Result({"steps": shown, "index": str(target / "index.html")}, shown)


STEPS_FILE = "steps.json"
STEPS_VERSION = 1


def _read_steps(target: Path) -> dict[str, dict[str, Any]]:
    try:
        found = json.loads((target / STEPS_FILE).read_text("utf-8"))
    except (OSError, ValueError):
        return {}
    return found if isinstance(found, dict) else {}


def _inputs_of(folder: Path, out: Path) -> str:
    """Give a digest of everything that the steps depend on."""
    total = hashlib.sha256(f"{__version__} {STEPS_VERSION}".encode())
    for path in sorted(folder.rglob("*")):
        if path.is_file() and not path.is_relative_to(out) and not path.name.endswith(".bak"):
            total.update(str(path.relative_to(folder)).encode() + b"\0")
            total.update(hashlib.sha256(path.read_bytes()).digest())
    return total.hexdigest()


def _all_there(target: Path, files: Sequence[str]) -> bool:
    return all((target / file).is_file() for file in files)


def _step(name: str, result: Result, target: Path) -> dict[str, Any]:
    """Say in a sentence what a step found, and which files to open."""
    data = result.to_dict()
    if name == "check":
        errors = sum(fault["level"] == "error" for fault in data["faults"])
        values = {"errors": errors, "warnings": len(data["faults"]) - errors, **data["map"]}
        key = "good" if data["ok"] else "faulty"
        paths = data["files"]
    elif name == "playtest":
        marks = [verdict["verdict"] for verdict in data["verdicts"]]
        values = {"games": data["games"], "goals": len(marks)}
        values |= {mark: marks.count(mark) for mark in ("holds", "certain", "watch", "fails")}
        key, paths = "made", data["files"]
    else:
        values = {"files": len(data["files"]), "refused": len(data["refused"])}
        key = "whole" if not data["refused"] else "lacking"
        paths = [file["path"] for file in data["files"]]
    return {
        "name": name,
        "state": "made",
        "ok": bool(data.get("ok", True)),
        "sentence": words.say(f"cli.steps.{name}-{key}", **values),
        "files": [os.path.relpath(path, target).replace(os.sep, "/") for path in paths],
    }


def _after(minutes: float | None) -> Callable[[], bool] | None:
    """Give a function that tells when so many minutes have passed."""
    if minutes is None:
        return None
    end = time.monotonic() + 60 * minutes
    return lambda: time.monotonic() >= end


def _known(kind: str, value: str, known: Sequence[str]) -> None:
    if value not in known:
        raise UnknownName(kind, value, known)


def _distinct(
    pathways: Iterable[anatomies.Pathway],
) -> list[tuple[tuple[str, ...], bool]]:
    """Give each sequence of structures once; main if any pathway along it is."""
    main: dict[tuple[str, ...], bool] = {}
    for pathway in pathways:
        main[pathway.structures] = main.get(pathway.structures, False) or pathway.main
    return list(main.items())


def open(path: str | Path, variants: Iterable[str] | None = None) -> Project:
    """Open a project folder: ``nervure.open("my-game").check()``."""
    return Project(path, variants)


def new(
    folder: str | Path, *, map_name: str | None = None, table: str | Path | None = None
) -> Result:
    """Start a project from a bundled map, or from a table of muscle, nerve, roots.

    Raises
    ------
    BadUsage
        Neither or both are named, or a file would be written over.
    """
    if (map_name is None) == (table is None):
        raise BadUsage(words.say("cli.new-needs", maps=", ".join(maps.bundled_maps())))
    if map_name is not None:
        started = projects.start_from_map(Path(folder), map_name)
    else:
        started = projects.start_from_table(Path(folder), Path(str(table)))
    return Result(
        {
            "project": str(started.project),
            "files": [str(file) for file in started.files],
            "to_do": list(started.to_do),
        }
    )


def demo(
    folder: str | Path = "demo", *, game: str = DEMO_GAME, progress: Progress | None = None
) -> Result:
    """Copy a bundled game into a folder and do everything with it.

    A folder that holds a project already is used as it is, edits included.

    Raises
    ------
    UnknownName
        There is no such bundled game.
    BadUsage
        The folder holds something else.
    """
    target = Path(folder)
    source = maps.game_folder(game)
    if not (target / "game.toml").exists():
        if target.exists() and (not target.is_dir() or any(target.iterdir())):
            raise BadUsage(words.say("cli.demo-taken", folder=target))
        shutil.copytree(source, target, dirs_exist_ok=True)
    return Project(target).all(progress=progress)
