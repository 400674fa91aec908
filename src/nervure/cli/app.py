"""Commands: parse, call `nervure.api`, show. No rule and no formula stands here.

Exit codes: 0 good (warnings never change it); ``check`` 1 if there are error faults;
2 bad usage, or a folder that cannot be used.
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

app = typer.Typer(
    name="nervure",
    help=words.say("cli.help.nervure"),
    no_args_is_help=True,
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
        raise typer.Exit(1)


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
        float, typer.Option("--error", metavar="E", help=words.say("cli.help.error"))
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
        int | None, typer.Option("--players", metavar="N", help=words.say("cli.help.players"))
    ] = None,
    games: Annotated[
        int | None, typer.Option("--games", metavar="N", help=words.say("cli.help.games"))
    ] = None,
    precision: Annotated[
        float | None,
        typer.Option("--precision", metavar="P", help=words.say("cli.help.precision")),
    ] = None,
    minutes: Annotated[
        float | None, typer.Option("--minutes", metavar="M", help=words.say("cli.help.minutes"))
    ] = None,
    more: Annotated[bool, typer.Option("--more", help=words.say("cli.help.more"))] = False,
    seed: Annotated[int, typer.Option("--seed", metavar="S", help=words.say("cli.help.seed"))] = 1,
    workers: Annotated[
        int | None, typer.Option("--workers", metavar="N", help=words.say("cli.help.workers"))
    ] = None,
    out: Out = None,
    as_json: Json = False,
    quiet: Quiet = False,
) -> None:
    """Play complete games, measure, judge."""
    from nervure import api

    with show.progress(quiet) as progress:
        result = api.open(project).playtest(
            seats=_listed(seats) or None,
            players=players,
            games=games,
            precision=precision,
            minutes=minutes,
            more=more,
            seed=seed,
            workers=workers,
            out=out,
            progress=progress,
        )
    _finish(result, show.playtest, as_json, quiet)


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
        int, typer.Option("--decks", metavar="N", help=words.say("cli.help.decks"))
    ] = 1,
    out: Out = None,
    as_json: Json = False,
    quiet: Quiet = False,
) -> None:
    """Make print-ready cards."""
    from nervure import api

    with show.progress(quiet) as progress:
        result = api.open(project).print(
            what=_listed(what) or None, paper=paper, decks=decks, out=out, progress=progress
        )
    _finish(result, show.printed, as_json, quiet)


@app.command(name="all", help=words.say("cli.help.all"))
def all_(
    project: ProjectFolder, out: Out = None, as_json: Json = False, quiet: Quiet = False
) -> None:
    """Check, playtest and print."""
    from nervure import api

    with show.progress(quiet) as progress:
        result = api.open(project).all(out=out, progress=progress)
    _finish(result, show.steps, as_json, quiet)


@app.command(help=words.say("cli.help.demo"))
def demo(
    folder: Annotated[
        Path, typer.Argument(metavar="DIR", help=words.say("cli.help.demo-dir"))
    ] = Path("demo"),
    game: Annotated[
        str, typer.Option("--game", metavar="NAME", help=words.say("cli.help.demo-game"))
    ] = "giants-leg",
    as_json: Json = False,
    quiet: Quiet = False,
) -> None:
    """Copy the main demo game and do everything with it."""
    from nervure import api

    with show.progress(quiet) as progress:
        result = api.demo(folder, game=game, progress=progress)
    _finish(result, show.steps, as_json, quiet)


def _finish(result: Any, show_text: Callable[[Any], None], as_json: bool, quiet: bool) -> None:
    if as_json:
        sys.stdout.write(json.dumps(result.to_dict(), ensure_ascii=False, allow_nan=False) + "\n")
    elif not quiet:
        show_text(result)


def main(arguments: list[str] | None = None) -> None:
    """Run the command line; a bad input never shows a traceback."""
    given = sys.argv[1:] if arguments is None else arguments
    try:
        app(given, prog_name="nervure")
    except NervureError as error:
        _refuse(error, "--json" in given)
        sys.exit(2)
    except OSError as error:
        _refuse(
            BadUsage(words.say("cli.os-error", reason=error.strerror, file=error.filename)),
            "--json" in given,
        )
        sys.exit(2)
    except Exception:  # a mistake of our own: keep the trace for a report, show one sentence
        with tempfile.NamedTemporaryFile(
            "w", prefix="nervure-", suffix=".txt", delete=False, encoding="utf-8"
        ) as file:
            traceback.print_exc(file=file)
        _refuse(NervureError(words.say("cli.own-mistake", file=file.name)), "--json" in given)
        sys.exit(2)


def _refuse(error: NervureError, as_json: bool) -> None:
    if as_json:
        faults = [fault.to_dict() for fault in getattr(error, "faults", ())]
        data = {"ok": False, "error": str(error), "faults": faults}
        sys.stdout.write(json.dumps(data, ensure_ascii=False) + "\n")
    elif isinstance(error, FaultyProject):
        show.faults(error.faults, to_error=True)
    else:
        show.refusal(str(error))
