"""Nervure in Python: ``nervure.open(folder)`` gives a `Project`; its verbs are the commands.

A verb forwards to its workshop and packs what comes back into a `Result`: plain data under
the keys of ``docs/commands.md``, with ``to_dict()``, ``to_polars()`` and a notebook display.
No rule and no formula stands here.
"""

from __future__ import annotations

import html
import json
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from functools import cached_property
from pathlib import Path
from typing import TYPE_CHECKING, Any

from nervure import anatomy as anatomies
from nervure import project as projects
from nervure.errors import Fault, FaultyProject, UnknownName, has_errors, sort_faults

if TYPE_CHECKING:
    from nervure.game import Game


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
        """Give the folder for results: ``out`` inside the project unless told otherwise."""
        return self.path / "out" if out is None else Path(out)

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
