"""What the commands print for people: results to standard output, all else to standard error."""

from __future__ import annotations

import sys
from collections.abc import Callable, Iterable, Iterator
from contextlib import contextmanager
from typing import TYPE_CHECKING, Any

from rich.console import Console
from rich.progress import BarColumn, Progress, TaskID, TextColumn, TimeRemainingColumn
from rich.text import Text

from nervure import words
from nervure.errors import Fault

if TYPE_CHECKING:
    from nervure.api import Project, Result

SHOWN_FAULTS = 50
SHOWN_GROUPS = 6
SHOWN_SPARED = 12

Show = Callable[[Any], None]
Report = Callable[[str, int, int], None]


def _console(to_error: bool = False) -> Console:
    stream = sys.stderr if to_error else sys.stdout
    # A pipe has no width: never fold what another program or a test reads.
    width = None if stream.isatty() else 10_000
    return Console(file=stream, highlight=False, soft_wrap=True, width=width, markup=False)


def _say(text: str, to_error: bool = False) -> None:
    _console(to_error).print(Text(text))


def refusal(message: str) -> None:
    """Print why a call was refused."""
    _say(message, to_error=True)


def faults(found: Iterable[Fault], to_error: bool = False) -> None:
    """Print faults by file and row, at most fifty, errors marked by word."""
    listed = list(found)
    for fault in listed[:SHOWN_FAULTS]:
        _say(f"{words.say('cli.level-' + fault.level)}  {fault.message}", to_error)
    if len(listed) > SHOWN_FAULTS:
        _say(words.say("cli.more-faults", count=len(listed) - SHOWN_FAULTS), to_error)


def new(result: Result) -> None:
    """Print what was started and what is left to do."""
    _say(words.say("cli.new-made", project=result["project"], count=len(result["files"])))
    for line in result["to_do"]:
        _say(f"  - {line}")
    _say(words.say("cli.new-next", project=result["project"]))


def check(result: Result) -> None:
    """Print the faults, then what was proved."""
    found = result["faults"]
    for fault in found[:SHOWN_FAULTS]:
        _say(f"{words.say('cli.level-' + fault['level'])}  {fault['message']}")
    if len(found) > SHOWN_FAULTS:
        _say(words.say("cli.more-faults", count=len(found) - SHOWN_FAULTS))
    errors = sum(fault["level"] == "error" for fault in found)
    key = "cli.check-good" if result["ok"] else "cli.check-faulty"
    _say(words.say(key, errors=errors, warnings=len(found) - errors, **result["map"]))
    for file in result["files"]:
        _say(f"  {file}")
    _say(words.say("caution.lesions"))


def pathways(opened: Project) -> Show:
    """Print the pathways of a target by the names of its structures."""

    def show(result: Result) -> None:
        map_ = opened.folder.map
        names = {row.id: row.name for row in (*map_.structures, *map_.targets)}
        count = len(result["pathways"])
        _say(words.say("cli.pathways", target=names[result["target"]], count=count))
        for pathway in result["pathways"]:
            line = " › ".join(names[structure] for structure in pathway["structures"])
            main = words.say("cli.main") if pathway["main"] else ""
            _say(f"  {line}{main}")

    return show


def cut(opened: Project) -> Show:
    """Print what a lesion weakens, in words: some, most, all."""

    def show(result: Result) -> None:
        names = {row.id: row.name for row in opened.folder.map.targets}
        sites = " + ".join(_site_name(opened, site) for site in result["sites"])
        _say(words.say("cli.cut", sites=sites, count=len(result["affected"])))
        for word in ("all", "most", "some"):
            lost = [names[row] for row, found in result["words"].items() if found == word]
            if lost:
                key = f"cli.loses-{word}"
                _say(words.say(key, names="; ".join(lost)))
        spared = [names[row] for row in result["spared"]]
        key = "cli.spared" if len(spared) <= SHOWN_SPARED else "cli.spared-many"
        _say(words.say(key, names="; ".join(spared), count=len(spared)))
        _say(words.say("caution.lesions"))

    return show


def localize(opened: Project) -> Show:
    """Print the likeliest sites, those alike on all targets together, and what to examine next."""

    def show(result: Result) -> None:
        names = {row.id: row.name for row in opened.folder.map.targets}
        misses = {site["site"]: site["misses"] for site in result["sites"]}
        for group in result["groups"][:SHOWN_GROUPS]:
            sites = "; ".join(_site_name(opened, site) for site in group["sites"])
            percent = round(100 * group["probability"])
            _say(
                words.say("cli.group", sites=sites, percent=f"{percent:>3}" if percent else " <1")
            )
            missed = misses[group["sites"][0]]
            if missed:
                listed = "; ".join(names[row] for row in missed)
                _say(words.say("cli.misses", names=listed))
        following = result["next"]
        if following:
            _say(words.say("cli.next", target=names[following["target"]]))
        _say(words.say("caution.lesions"))

    return show


def _site_name(opened: Project, site: str) -> str:
    """Give a site as people say it: the lesion's name, or the structure's with its level."""
    map_ = opened.folder.map
    lesions = {row.id: row.name for row in map_.lesions}
    if site in lesions:
        return lesions[site]
    names = {row.id: row.name for row in map_.structures}
    if ">" in site:
        start, end = site.split(">")
        return words.say("cli.site-link", start=names[start], end=names[end])
    structure, _, level = site.partition("@")
    if level:
        return words.say("cli.site-level", name=names[structure], level=level)
    return names[structure]


def playtest(result: Result) -> None:
    """Print the verdicts, then where the page stands."""
    _say(words.say("cli.played", games=result["games"], seed=result["seed"]))
    for verdict in result["verdicts"]:
        _say(f"  {words.say('cli.verdict-' + verdict['verdict'])}  {verdict['sentence']}")
    for file in result.to_dict().get("files", []):
        _say(f"  {file}")


def printed(result: Result) -> None:
    """Print the files, then what was refused."""
    for file in result["files"]:
        _say(words.say("cli.file", **file))
    for refused in result["refused"]:
        _say(words.say("cli.refused", **refused))
    if not result["refused"]:
        _say(words.say("cli.nothing-refused"))


def steps(result: Result) -> None:
    """Print each step with its state, then the page to open."""
    for step in result["steps"]:
        _say(f"{words.say('cli.step-' + step['state'])}  {step['name']}: {step['sentence']}")
    _say(words.say("cli.open-this", file=result["index"]))


@contextmanager
def progress(quiet: bool) -> Iterator[Report]:
    """Give a function (label, done, all) that draws bars on a terminal's standard error."""
    console = _console(to_error=True)
    if quiet or not sys.stderr.isatty():
        yield lambda label, done, total: None
        return
    with Progress(
        TextColumn("{task.description}"), BarColumn(), TimeRemainingColumn(), console=console
    ) as bars:
        tasks: dict[str, TaskID] = {}

        def report(label: str, done: int, total: int) -> None:
            if label not in tasks:
                tasks[label] = bars.add_task(label, total=total)
            bars.update(tasks[label], completed=done, total=total)

        yield report
