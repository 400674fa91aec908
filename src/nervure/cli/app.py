"""Commands: parse, call `nervure.api`, show. No rule and no formula stands here.

Exit codes: 0 good (warnings never change it); 1 from ``check`` if there are error faults;
2 bad usage, or a folder that cannot be used; 130 stopped by the person.
"""

from __future__ import annotations

import json
import sys
import tempfile
import traceback
from collections.abc import Callable
from pathlib import Path
from typing import Annotated, Any

import typer

from nervure import __version__, words
from nervure.cli import show
from nervure.errors import BadUsage, FaultyProject, NervureError

GOOD, FAULTY, REFUSED, STOPPED = 0, 1, 2, 130

app = typer.Typer(
    name="nervure",
    help=words.say("cli.help.nervure"),
    add_completion=False,
    pretty_exceptions_enable=False,
    rich_markup_mode=None,
)

ProjectFolder = Annotated[
    Path, typer.Argument(metavar="PROJECT", help=words.say("cli.help.project"))
]
Json = Annotated[bool, typer.Option("--json", help=words.say("cli.help.json"))]
Quiet = Annotated[bool, typer.Option("--quiet", help=words.say("cli.help.quiet"))]
Out = Annotated[Path | None, typer.Option("--out", metavar="DIR", help=words.say("cli.help.out"))]
Variants = Annotated[
    list[str] | None,
    typer.Option("--variant", metavar="ID", help=words.say("cli.help.variant")),
]


def _whole(text: str) -> int:
    try:
        return int(text)
    except ValueError:
        raise typer.BadParameter(words.say("cli.no-whole-number", value=text)) from None


def _number(text: str) -> float:
    try:
        return float(text)
    except ValueError:
        raise typer.BadParameter(words.say("cli.no-number", value=text)) from None


class _Stopped(Exception):
    """A person stopped the work; the message says what is kept."""


def _version(asked: bool) -> None:
    if asked:
        typer.echo(f"nervure {__version__}")
        raise typer.Exit


@app.callback()
def nervure(
    version: Annotated[
        bool,
        typer.Option(
            "--version", callback=_version, is_eager=True, help=words.say("cli.help.version")
        ),
    ] = False,
) -> None:
    """Hold the options that stand before a command."""


def _listed(text: str | None) -> list[str]:
    return [part for part in (text or "").replace(",", " ").split() if part]


@app.command(help=words.say("cli.help.new"))
def new(
    folder: Annotated[Path, typer.Argument(metavar="DIR", help=words.say("cli.help.new-dir"))],
    map_name: Annotated[
        str | None, typer.Option("--map", metavar="NAME", help=words.say("cli.help.new-map"))
    ] = None,
    table: Annotated[
        Path | None, typer.Option("--from", metavar="FILE", help=words.say("cli.help.new-from"))
    ] = None,
    as_json: Json = False,
    quiet: Quiet = False,
) -> None:
    """Start a project."""
    from nervure import api  # commands load what they need, so that --help starts at once

    result = api.new(folder, map_name=map_name, table=table)
    _finish(result, show.new, as_json, quiet)


@app.command(help=words.say("cli.help.check"))
def check(
    project: ProjectFolder,
    review: Annotated[
        Path | None, typer.Option("--review", metavar="FILE", help=words.say("cli.help.review"))
    ] = None,
    variant: Variants = None,
    out: Out = None,
    as_json: Json = False,
    quiet: Quiet = False,
) -> None:
    """Prove the anatomy and the deck."""
    from nervure import api

    result = api.open(project, variant).check(out=out, review=review)
    _finish(result, show.check, as_json, quiet)
    if not result["ok"]:
        raise typer.Exit(FAULTY)


@app.command(help=words.say("cli.help.pathways"))
def pathways(
    project: ProjectFolder,
    target: Annotated[str, typer.Argument(metavar="TARGET", help=words.say("cli.help.target"))],
    variant: Variants = None,
    as_json: Json = False,
    quiet: Quiet = False,
) -> None:
    """Show the pathways of one target."""
    from nervure import api

    opened = api.open(project, variant)
    _finish(opened.pathways(target), show.pathways(opened), as_json, quiet)


@app.command(help=words.say("cli.help.cut"))
def cut(
    project: ProjectFolder,
    sites: Annotated[list[str], typer.Argument(metavar="SITE…", help=words.say("cli.help.sites"))],
    via: Annotated[
        str | None, typer.Option("--via", metavar="S", help=words.say("cli.help.via"))
    ] = None,
    fibres: Annotated[
        str | None, typer.Option("--fibres", metavar="F…", help=words.say("cli.help.fibres"))
    ] = None,
    variant: Variants = None,
    as_json: Json = False,
    quiet: Quiet = False,
) -> None:
    """Tell what a lesion weakens."""
    from nervure import api

    opened = api.open(project, variant)
    result = opened.cut(sites, via=_listed(via), fibres=_listed(fibres) or None)
    _finish(result, show.cut(opened), as_json, quiet)


@app.command(help=words.say("cli.help.localize"))
def localize(
    project: ProjectFolder,
    affected: Annotated[
        str, typer.Option("--affected", metavar="A,B", help=words.say("cli.help.affected"))
    ],
    spared: Annotated[
        str | None, typer.Option("--spared", metavar="C,D", help=words.say("cli.help.spared"))
    ] = None,
    error: Annotated[
        float,
        typer.Option("--error", parser=_number, metavar="E", help=words.say("cli.help.error")),
    ] = 0.05,
    variant: Variants = None,
    as_json: Json = False,
    quiet: Quiet = False,
) -> None:
    """Rank the sites that explain findings."""
    from nervure import api

    opened = api.open(project, variant)
    result = opened.localize(_listed(affected), _listed(spared), error=error)
    _finish(result, show.localize(opened), as_json, quiet)


@app.command(help=words.say("cli.help.playtest"))
def playtest(
    project: ProjectFolder,
    seats: Annotated[
        str | None, typer.Option("--seats", metavar="STYLE,…", help=words.say("cli.help.seats"))
    ] = None,
    players: Annotated[
        int | None,
        typer.Option("--players", parser=_whole, metavar="N", help=words.say("cli.help.players")),
    ] = None,
    games: Annotated[
        int | None,
        typer.Option("--games", parser=_whole, metavar="N", help=words.say("cli.help.games")),
    ] = None,
    precision: Annotated[
        float | None,
        typer.Option(
            "--precision", parser=_number, metavar="P", help=words.say("cli.help.precision")
        ),
    ] = None,
    minutes: Annotated[
        float | None,
        typer.Option("--minutes", parser=_number, metavar="M", help=words.say("cli.help.minutes")),
    ] = None,
    more: Annotated[bool, typer.Option("--more", help=words.say("cli.help.more"))] = False,
    ladder: Annotated[bool, typer.Option("--ladder", help=words.say("cli.help.ladder"))] = False,
    records: Annotated[
        list[Path] | None,
        typer.Option("--records", metavar="FILE", help=words.say("cli.help.records")),
    ] = None,
    seed: Annotated[
        int, typer.Option("--seed", parser=_whole, metavar="S", help=words.say("cli.help.seed"))
    ] = 1,
    workers: Annotated[
        int | None,
        typer.Option("--workers", parser=_whole, metavar="N", help=words.say("cli.help.workers")),
    ] = None,
    out: Out = None,
    as_json: Json = False,
    quiet: Quiet = False,
) -> None:
    """Play complete games, measure, judge."""
    from nervure import api
    from nervure.cli.progress import progress, stoppable

    with stoppable() as stop, progress(quiet) as report:
        result = api.open(project).playtest(
            seats=_listed(seats) or None,
            players=players,
            games=games,
            precision=precision,
            minutes=minutes,
            more=more,
            ladder=ladder,
            records=records or (),
            seed=seed,
            workers=workers,
            out=out,
            progress=report,
            stop=stop,
            on_prepare=_prepare(quiet),
        )
    _finish(result, show.playtest, as_json, quiet)
    if stop.asked:
        raise _Stopped(words.say("cli.stopped-playtest"))


@app.command(name="print", help=words.say("cli.help.print"))
def print_(
    project: ProjectFolder,
    what: Annotated[
        str | None, typer.Option("--what", metavar="KIND,…", help=words.say("cli.help.what"))
    ] = None,
    paper: Annotated[
        str, typer.Option("--paper", metavar="a4|letter", help=words.say("cli.help.paper"))
    ] = "a4",
    decks: Annotated[
        int, typer.Option("--decks", parser=_whole, metavar="N", help=words.say("cli.help.decks"))
    ] = 1,
    language: Annotated[
        str | None, typer.Option("--language", metavar="L", help=words.say("cli.help.language"))
    ] = None,
    since: Annotated[
        Path | None, typer.Option("--since", metavar="MANIFEST", help=words.say("cli.help.since"))
    ] = None,
    out: Out = None,
    as_json: Json = False,
    quiet: Quiet = False,
) -> None:
    """Make print-ready cards."""
    from nervure import api

    result = api.open(project).print(
        what=_listed(what) or None,
        paper=paper,
        decks=decks,
        language=language,
        since=since,
        out=out,
    )
    _finish(result, show.printed, as_json, quiet)


@app.command(name="all", help=words.say("cli.help.all"))
def all_(
    project: ProjectFolder, out: Out = None, as_json: Json = False, quiet: Quiet = False
) -> None:
    """Check, playtest and print."""
    from nervure import api

    _all(api.open(project).all, as_json, quiet, out=out)


@app.command(help=words.say("cli.help.demo"))
def demo(
    folder: Annotated[
        Path, typer.Argument(metavar="DIR", help=words.say("cli.help.demo-dir"))
    ] = Path("demo"),
    game: Annotated[
        str | None, typer.Option("--game", metavar="NAME", help=words.say("cli.help.demo-game"))
    ] = None,
    as_json: Json = False,
    quiet: Quiet = False,
) -> None:
    """Copy the main demo game and do everything with it."""
    from nervure import api

    _all(api.demo, as_json, quiet, folder=folder, game=game)


@app.command(name="open", help=words.say("web.help.open"))
def open_(
    projects: Annotated[
        list[Path] | None,
        typer.Argument(metavar="[PROJECT]…", help=words.say("web.help.projects")),
    ] = None,
    host: Annotated[
        str, typer.Option("--host", metavar="HOST", help=words.say("web.help.host"))
    ] = "127.0.0.1",
    port: Annotated[
        int | None,
        typer.Option("--port", parser=_whole, metavar="N", help=words.say("web.help.port")),
    ] = None,
) -> None:
    """Open the workbench."""
    from nervure.web import serve  # the web's packages: only those who open it wait for them

    serve(projects or [], host, port, tell=show.say)


def _all(do_all: Callable[..., Any], as_json: bool, quiet: bool, **options: Any) -> None:
    """Do everything with a project, and end as its steps did."""
    from nervure.cli.progress import progress, stoppable

    with stoppable() as stop, progress(quiet) as report:
        result = do_all(progress=report, stop=stop, on_prepare=_prepare(quiet), **options)
    _finish(result, show.steps, as_json, quiet)
    if stop.asked:
        raise _Stopped(words.say("cli.stopped"))
    if not result["ok"]:
        raise typer.Exit(REFUSED)


def _prepare(quiet: bool) -> Callable[[], None] | None:
    """Give what to do before the engine is compiled: say so, since it takes some seconds."""
    return None if quiet else lambda: show.say(words.say("playtest.preparing"), to_error=True)


def _finish(result: Any, show_text: Callable[[Any], None], as_json: bool, quiet: bool) -> None:
    if as_json:
        sys.stdout.write(json.dumps(result.to_dict(), ensure_ascii=False, allow_nan=False) + "\n")
    elif not quiet:
        show_text(result)


def main(arguments: list[str] | None = None) -> None:
    """Run the command line; a bad input never shows a traceback."""
    for stream in (sys.stdout, sys.stderr):
        if hasattr(stream, "reconfigure"):  # a terminal of few letters shows ? for the others
            stream.reconfigure(errors="replace")
    given = (sys.argv[1:] if arguments is None else arguments) or ["--help"]
    sys.exit(_run(given, "--json" in given))


def _run(given: list[str], as_json: bool) -> int:
    """Run a command and give the exit code."""
    try:
        code: int = app(given, prog_name="nervure", standalone_mode=False) or GOOD
        if code == STOPPED:  # what typer makes of an interrupt in the midst of a command
            raise _Stopped(words.say("cli.stopped"))
        return code
    except NervureError as error:
        _refuse(error, as_json)
    except _Stopped as stopped:
        show.say(str(stopped), to_error=True)
        return STOPPED
    except BrokenPipeError:  # who read the output has gone; there is nobody to tell
        sys.stdout = None
    except OSError as error:
        reason, file = error.strerror or str(error), error.filename or ""
        _refuse(BadUsage(words.say("cli.os-error", reason=reason, file=file)), as_json)
    except Exception as error:
        # What typer cannot parse has a message for people, whatever class its version raises.
        if hasattr(error, "format_message"):
            _refuse(BadUsage(_usage(error)), as_json)
        else:
            _refuse(NervureError(words.say("cli.own-mistake", file=_kept_trace())), as_json)
    return REFUSED


def _usage(error: Any) -> str:
    """Say what could not be parsed, and where the help for it stands."""
    context = getattr(error, "ctx", None)
    path = context.command_path.removeprefix("nervure").strip() if context else ""
    message = error.format_message()
    message += "" if message.endswith((".", "?")) else "."
    return words.say("cli.usage", message=message, command=path + " " if path else "")


def _kept_trace() -> str:
    """Keep the trace of a mistake of our own in a file for a report; gives its path."""
    with tempfile.NamedTemporaryFile(
        "w", prefix="nervure-", suffix=".txt", delete=False, encoding="utf-8"
    ) as file:
        traceback.print_exc(file=file)
    return file.name


def _refuse(error: NervureError, as_json: bool) -> None:
    if as_json:
        faults = [fault.to_dict() for fault in getattr(error, "faults", ())]
        data = {"ok": False, "error": str(error), "faults": faults}
        sys.stdout.write(json.dumps(data, ensure_ascii=False) + "\n")
    elif isinstance(error, FaultyProject):
        show.faults(error.faults, to_error=True)
    else:
        show.say(str(error), to_error=True)
