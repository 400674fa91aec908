"""A project folder and its verbs.

A verb forwards to its workshop and packs what comes back into a `Result`. No rule and no
formula stands here. More than half of the module is the description of the verbs' options,
which is why they stand together.
"""

from __future__ import annotations

import os
import time
from collections.abc import Callable, Iterable, Sequence
from functools import cached_property
from pathlib import Path
from typing import TYPE_CHECKING, Any

from nervure import anatomy as anatomies
from nervure import project as projects
from nervure import words
from nervure.api.names import site_name, target_names
from nervure.api.result import Result, many
from nervure.api.steps import do_all
from nervure.api.summaries import check_summary, playtest_summary, print_summary
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
"""Told what is being done, how much of it is done, and of how much; 0 of 0: not known."""

Stop = Callable[[], bool]
"""Asked now and then; True ends long work, and what is done is kept."""

Prepare = Callable[[], None]
"""Called before the engine is compiled."""

FAULT_COLUMNS = ("level", "code", "file", "row", "column", "message")


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
                raise UnknownName(words.say("cli.kind.variant"), variant, known)
        return asked

    def out(self, out: str | Path | None = None) -> Path:
        """Give the folder for results: ``out`` in the project unless told otherwise."""
        return self.path / "out" if out is None else Path(out)

    def check(self, out: str | Path | None = None, review: str | Path | None = None) -> Result:
        """Prove the anatomy and the deck; writes ``check.html`` and the review sheet.

        A review sheet in ``out`` that holds answers is left as it is.

        Parameters
        ----------
        out
            Where to write; default ``PROJECT/out``.
        review
            A review sheet that a colleague has filled in, to be read back.

        Raises
        ------
        FaultyProject
            Nothing in the folder can be read, or the review sheet cannot.
        BadUsage
            There is no such review sheet.
        """
        if review is not None and not Path(review).exists():
            raise BadUsage(words.say("cli.no-review", file=review))
        from nervure.report import check_page, check_record

        record = check_record(
            self.game, self.faults, review=None if review is None else Path(review)
        )
        target = free_folder(self.out(out))
        target.mkdir(parents=True, exist_ok=True)
        page, sheet = target / "check.html", target / "review.csv"
        projects.write_text_safely(page, check_page(record), keep_backup=False)
        answered = sheet.exists() and _holds_answers(sheet, record.anatomy)
        if not answered:
            projects.write_text_safely(sheet, record.review_sheet, keep_backup=False)
        data = record.to_dict() | {
            "files": [str(page), str(sheet)],
            "review_sheet_kept": answered,
            "caution": words.say("caution.lesions"),
        }
        return Result("check", data, check_summary(data), data["faults"], FAULT_COLUMNS)

    def pathways(self, target: str) -> Result:
        """Give the pathways of one target, fibre by fibre, origin first.

        Raises
        ------
        UnknownName
            No such target; names the nearest.
        """
        anatomy = self.anatomy
        known = [row.id for row in anatomy.map.targets]
        if target not in known:
            raise UnknownName(words.say("cli.kind.target"), target, known)
        rows = [
            {"structures": list(structures), "main": main}
            for structures, main in _distinct(anatomy.pathways(target))
        ]
        summary = many("cli.pathways", len(rows), target=anatomy.target(target).name)
        data = {"target": target, "variants": list(self.variants), "pathways": rows}
        return Result("pathways", data, summary, rows, ("structures", "main"))

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
            "caution": words.say("caution.lesions"),
        }
        rows = [
            {"target": target, "lost": share, "in_words": cut.words[target]}
            for target, share in sorted(cut.shares.items(), key=lambda lost: -lost[1])
        ]
        sites_cut = " + ".join(site_name(self.folder.map, site) for site in data["sites"])
        summary = many("cli.cut", len(cut.affected), sites=sites_cut)
        # On screens the words stand; the share is a convention of this tool, given on asking.
        shown = ("target", "in_words")
        return Result("cut", data, summary, rows, ("target", "lost", "in_words"), shown)

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
        data = found.to_dict() | {"caution": words.say("caution.lesions")}
        columns = ("site", "probability", "explains", "misses")
        following = target_names(self.folder.map)[found.next.target] if found.next else ""
        summary = words.say("cli.next" if following else "cli.no-next", target=following)
        return Result("localize", data, summary, data["sites"], columns)

    def playtest(
        self,
        seats: Sequence[str] | None = None,
        *,
        players: int | None = None,
        games: int | None = None,
        precision: float | None = None,
        minutes: float | None = None,
        more: bool = False,
        ladder: bool = False,
        records: Sequence[str | Path] = (),
        seed: int = 1,
        workers: int | None = None,
        out: str | Path | None = None,
        progress: Progress | None = None,
        stop: Stop | None = None,
        on_prepare: Prepare | None = None,
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
            Stop after so many minutes, at the end of a block of games.
        more
            Go on from the games of the last playtest of this design, seed and plan.
        ladder
            Play every step of the ladder of styles, the searcher's too.
        records
            Files of recorded table games of this design. From five timed games on, with
            those of plays.csv, they say how long a turn takes.
        seed
            The same seed gives the same games, whatever the workers.
        workers
            Threads; default as many as there are processors.
        stop
            Asked between blocks of games; True ends the playtest, and the games are kept.
        on_prepare
            Called once if the engine has to be compiled first, which takes some seconds.

        Raises
        ------
        FaultyProject
            The folder, the map or the game has error faults.
        BadUsage
            A style, a number of players or a figure that does not fit.
        NotPlayedYet
            The game uses a rule that the engine does not play.
        """
        if minutes is not None and not minutes > 0:
            raise BadUsage(words.say("cli.minutes", value=minutes))
        game = self.require_sound()
        from nervure import playtest  # numba: only those who play wait for it
        from nervure.report import playtest_page

        played = []
        if records:
            from nervure.api import recorded  # the table: only who has records waits for it

            played = recorded.read_records(records, game)
        options = playtest.Options(
            seats=None if seats is None else tuple(seats),
            players=players,
            games=games,
            precision=precision,
            more=more,
            ladder=ladder,
            recorded=recorded.timed_games(played) if records else (),
            seed=seed,
            workers=(os.cpu_count() or 1) if workers is None else workers,
        )
        target = free_folder(self.out(out) / "playtest")
        ends = _Ends(minutes, stop, progress)
        result = playtest.run(
            game,
            target,
            options,
            progress=ends.report,
            stop=ends.asked,
            on_prepare=on_prepare,
        )
        page = target / "index.html"
        projects.write_text_safely(page, playtest_page(result, game), keep_backup=False)
        data = result.to_dict() | {"files": [str(page), str(target / "result.json")]}
        if records:
            data["recorded"] = recorded.recorded_data(played, result.seconds_per_turn)
        columns = ("measure", "players", "value", "interval", "unit", "games")
        rows = [
            {name: {"measure": measure, **figure}[name] for name in columns}
            for measure, figure in data["measures"].items()
        ]
        return Result("playtest", data, playtest_summary(data), rows, columns)

    def print(
        self,
        what: Sequence[str] | None = None,
        *,
        paper: str = "a4",
        decks: int = 1,
        language: str | None = None,
        since: str | Path | None = None,
        out: str | Path | None = None,
    ) -> Result:
        """Make print-ready files in ``out/print/``; text that does not fit is refused by card.

        Parameters
        ----------
        what
            Of cards, backs, sheets, contact, previews; None: cards, backs, sheets.
        paper
            Of the home sheets: a4 or letter.
        decks
            How many decks the manifest orders.
        language
            Of the cards; None: the project's own (`nervure.project.languages_of`).
        since
            The manifest of an earlier print: only what has changed is printed again.

        Raises
        ------
        FaultyProject
            The folder, the map or the game has error faults.
        BadUsage
            An unknown thing to print, an unknown paper or language, or less than one deck.
        """
        if decks < 1:
            raise BadUsage(words.say("cli.decks", value=decks))
        game = self.require_sound()
        from nervure import press  # Typst and fonts: only those who print wait for them

        asked: dict[str, Any] = {} if what is None else {"what": tuple(what)}
        target = free_folder(self.out(out) / "print")
        printed = press.print_deck(
            game, target, paper=paper, decks=decks, language=language, since=since, **asked
        )
        data = printed.to_dict()
        columns = ("path", "kind", "pages", "width_mm", "height_mm")
        return Result("print", data, print_summary(data), data["files"], columns)

    def all(
        self,
        *,
        out: str | Path | None = None,
        progress: Progress | None = None,
        stop: Stop | None = None,
        on_prepare: Prepare | None = None,
    ) -> Result:
        """Check, playtest and print into ``out/``, with an index page.

        A step whose inputs have not changed since it was made is not made again; errors
        that check finds refuse the others.

        Parameters
        ----------
        stop
            Asked now and then; True ends the work, and what is done is kept.
        on_prepare
            As for `playtest`.

        Raises
        ------
        FaultyProject
            Nothing in the folder can be read.
        """
        playing = {"progress": progress, "stop": stop, "on_prepare": on_prepare}
        return do_all(self, self.out(out), playing)


def open(path: str | Path, variants: Iterable[str] | None = None) -> Project:
    """Open a project folder: ``nervure.open("my-game").check()``.

    Parameters
    ----------
    path
        The folder.
    variants
        Variants of the map to take in; None: those that game.toml names.

    Examples
    --------
    >>> from nervure.maps import game_folder
    >>> leg = open(game_folder("giants-leg"))
    >>> leg.pathways("tibialis-anterior")
    <pathways: Tibialis anterior: 2 pathways.>
    >>> leg.cut(["deep-fibular-nerve"])["affected"]["tibialis-anterior"]
    1.0
    """
    return Project(path, variants)


def free_folder(folder: Path) -> Path:
    """Give a folder for results, or refuse where a file is in its way.

    Raises
    ------
    BadUsage
        It, or a folder that it would stand in, is a file.
    """
    for each in (folder, *folder.parents):
        if each.is_file():
            raise BadUsage(words.say("cli.out-is-file", file=each))
    return folder


class _Ends:
    """Tells a playtest when to end, never before its first block is played."""

    def __init__(
        self, minutes: float | None, stop: Stop | None, progress: Progress | None
    ) -> None:
        self._end = None if minutes is None else time.monotonic() + 60 * minutes
        self._stop, self._progress = stop, progress
        self._begun = False

    def report(self, label: str, done: int, total: int) -> None:
        self._begun = True
        if self._progress is not None:
            self._progress(words.say(f"playtest.step-{label}"), done, total)

    def asked(self) -> bool:
        if not self._begun:
            return False
        over = self._end is not None and time.monotonic() >= self._end
        return over or (self._stop is not None and self._stop())


def _holds_answers(sheet: Path, anatomy: anatomies.Anatomy) -> bool:
    """Tell whether a review sheet was filled in; one that cannot be read might be."""
    try:
        read = anatomies.read_review(sheet, anatomy)
    except FaultyProject:
        return True
    found = any(answer.verdict != "open" or answer.comment for answer in read.answers)
    return found or has_errors(read.faults)


def _distinct(
    pathways: Iterable[anatomies.Pathway],
) -> list[tuple[tuple[str, ...], bool]]:
    """Give each sequence of structures once; main if any pathway along it is."""
    main: dict[tuple[str, ...], bool] = {}
    for pathway in pathways:
        main[pathway.structures] = main.get(pathway.structures, False) or pathway.main
    return list(main.items())
