"""What the commands print for people: results to standard output, all else to standard error."""

from __future__ import annotations

import sys
from collections.abc import Callable, Iterable, Iterator, Mapping
from typing import IO, TYPE_CHECKING, Any

from rich.console import Console
from rich.text import Text

from nervure import words
from nervure.errors import Fault

if TYPE_CHECKING:
    from nervure.api import Project, Result

SHOWN_FAULTS = 50
SHOWN_GROUPS = 6
SHOWN_SPARED = 12

Show = Callable[[Any], None]


def console_on(stream: IO[str]) -> Console:
    """Give a console that colours nothing by itself and never folds what is piped on."""
    width = None if stream.isatty() else 10_000
    return Console(file=stream, highlight=False, soft_wrap=True, width=width, markup=False)


def say(text: str, to_error: bool = False) -> None:
    """Print a line, to standard error if asked."""
    console_on(sys.stderr if to_error else sys.stdout).print(Text(text))


def faults(found: Iterable[Fault | Mapping[str, Any]], to_error: bool = False) -> None:
    """Print faults by file and row, at most fifty, errors marked by word."""
    listed = [fault.to_dict() if isinstance(fault, Fault) else fault for fault in found]
    for fault in listed[:SHOWN_FAULTS]:
        say(f"{words.say('cli.level-' + fault['level'])}  {fault['message']}", to_error)
    if len(listed) > SHOWN_FAULTS:
        say(words.say("cli.more-faults", count=len(listed) - SHOWN_FAULTS), to_error)


def caution(result: Result) -> None:
    """Print the caution that belongs to a result, if any."""
    if result.caution:
        say(result.caution)


def new(result: Result) -> None:
    """Print what was started and what is left to do."""
    say(result.summary)
    for line in result["to_do"]:
        say(f"  - {line}")
    say(words.say("cli.new-next", project=_quoted(result["project"])))


def check(result: Result) -> None:
    """Print the faults, then what was proved."""
    faults(result["faults"])
    say(result.summary)
    if result["ok"]:
        for line in _proofs(result):
            say(f"  {line}")
    review = result["review"]
    if review is not None:
        say("  " + words.say("cli.review", **review))
        for row in review["comments"]:
            key = "cli.review-comment" if row["comment"] else "cli.review-no-comment"
            say("    " + words.say(key, **row))
    for file in result["files"]:
        say(f"  {file}")
    if result["review_sheet_kept"]:
        say("  " + words.say("cli.review-kept", file=result["files"][1]))
    caution(result)


def _proofs(result: Result) -> Iterator[str]:
    """Give what was proved of the game beyond the map, a sentence each."""
    untrue = result["untrue_strands"]["count"]
    legal = sum(result["legal_strands"].values())
    key = "cli.strands-untrue" if untrue else "cli.strands-true"
    yield words.say(key, count=untrue, legal=legal)
    ends: dict[str, list[str]] = {}
    for players, ending in result["ending"].items():
        ends.setdefault(ending["sentence"], []).append(players)
    for sentence, players in ends.items():
        alone = len(ends) == 1
        key = "cli.ending" if alone else "cli.ending-at"
        yield words.say(key, sentence=sentence, players=", ".join(players))


def pathways(opened: Project) -> Show:
    """Print the pathways of a target by the names of its structures."""

    def show(result: Result) -> None:
        names = {row.id: row.name for row in opened.folder.map.structures}
        say(result.summary)
        marked = any(pathway["main"] for pathway in result["pathways"])
        for pathway in result["pathways"]:
            line = " › ".join(names[structure] for structure in pathway["structures"])
            main = words.say("cli.main") if marked and pathway["main"] else ""
            say(f"  {line}{main}")

    return show


def cut(opened: Project) -> Show:
    """Print what a lesion weakens, in words: some, most, all."""

    def show(result: Result) -> None:
        names = {row.id: row.name for row in opened.folder.map.targets}
        say(result.summary)
        for word in ("all", "most", "some"):
            lost = [names[row] for row, found in result["words"].items() if found == word]
            if lost:
                say(words.say(f"cli.loses-{word}", names="; ".join(lost)))
        spared = [names[row] for row in result["spared"]]
        if spared:
            key = "cli.spared" if len(spared) <= SHOWN_SPARED else "cli.spared-many"
            say(words.say(key, names="; ".join(spared), count=len(spared)))
        caution(result)

    return show


def localize(opened: Project) -> Show:
    """Print the likeliest sites, those alike on all targets together, and what to examine next."""
    from nervure.api.names import site_name  # the api is loaded by then

    def show(result: Result) -> None:
        map_ = opened.folder.map
        names = {row.id: row.name for row in map_.targets}
        misses = {site["site"]: site["misses"] for site in result["sites"]}
        for group in result["groups"][:SHOWN_GROUPS]:
            sites = "; ".join(site_name(map_, site) for site in group["sites"])
            percent = round(100 * group["probability"])
            shown = f"{percent:>3}" if percent else " <1"
            say(words.say("cli.group", sites=sites, percent=shown))
            missed = misses[group["sites"][0]]
            if missed:
                listed = "; ".join(names[row] for row in missed)
                say(words.say("cli.misses", names=listed))
        say(result.summary)
        caution(result)

    return show


def playtest(result: Result) -> None:
    """Print the verdicts, then where the page stands."""
    say(result.summary)
    for verdict in result["verdicts"]:
        say(f"  {words.say('cli.verdict-' + verdict['verdict'])}  {verdict['sentence']}")
    for file in result["files"]:
        say(f"  {file}")


def printed(result: Result) -> None:
    """Print the files, then what was refused and what calls for a look."""
    for file in result["files"]:
        pages = words.say("cli.pages-one" if file["pages"] == 1 else "cli.pages-many", **file)
        say(words.say("cli.file", **{**file, "pages": pages}))
    for refused in result["refused"]:
        say(words.say("cli.refused", **refused))
    for note in result.to_dict().get("notes", []):
        say(words.say("cli.note", note=note))
    say(result.summary)


def steps(result: Result) -> None:
    """Print each step with its state, then the page to open; errors to standard error."""
    faults([fault for fault in result["faults"] if fault["level"] == "error"], to_error=True)
    for step in result["steps"]:
        state, name = words.say(f"cli.step-{step['state']}"), words.say(f"cli.step.{step['name']}")
        say(f"{state}  {name}: {step['sentence']}")
    say(result.summary)
    caution(result)


def _quoted(path: str) -> str:
    """Give a path as a shell takes it: in quotation marks where it holds blanks."""
    return f'"{path}"' if " " in path else path
