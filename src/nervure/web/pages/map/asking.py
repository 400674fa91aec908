"""What is asked of the map while it is looked at: cuts, likely sites, each as a piece of page."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from nervure import anatomy as anatomies
from nervure.api.names import site_name
from nervure.report.pages import percent
from nervure.web.bench import Bench
from nervure.web.shelf import Reading

SHOWN_SITES = 5
NAMES_IN_A_GROUP = 3


@dataclass(frozen=True, slots=True)
class SiteLine:
    """A group of sites that no examination tells apart, as it is listed."""

    sites: tuple[tuple[str, str], ...]
    more: int
    figure: str
    share: float


def cut_answer(
    bench: Bench,
    reading: Reading,
    sites: Sequence[str],
    via: Sequence[str],
    fibres: Sequence[str] | None,
) -> dict[str, Any]:
    """Give what a cut takes: pathways by place, loss by target in words, the list as HTML."""
    anatomy = reading.anatomy
    cut = anatomies.cut(anatomy, list(sites), via=via, fibres=fibres)
    places = {id(pathway): place for place, pathway in enumerate(anatomy.all_pathways)}
    map_words, count = dict(reading.folder.words), len(cut.affected)
    names = [site_name(anatomy.map, site) for site in sites]
    say, amount = bench.view.say, bench.view.amount
    told = amount("web.map.loses", count, total=len(cut.shares), **map_words) if sites else ""
    return {
        "lost": [places[id(pathway)] for pathway in cut.lost],
        "losses": {
            target: {
                "word": say(f"web.map.lost-{cut.words[target]}"),
                "figure": percent(cut.shares[target]),
                "all": cut.words[target] == "all",
            }
            for target in cut.affected
        },
        "sites": [
            {"structure": site.structure, "level": site.level, "end": site.end}
            for site in cut.sites
        ],
        "told": told,
        "heard": " ".join([say("web.map.cut-heard", sites=", ".join(names), **map_words), told])
        if sites
        else say("web.map.whole-again"),
        "html": bench.view.fill(
            "map/_cuts.html",
            sites=list(zip(sites, names, strict=True)),
            told=told,
            figures=[
                (anatomy.target(name).name, percent(cut.shares[name])) for name in cut.affected
            ],
            map_words=map_words,
        ),
    }


def localize_answer(
    bench: Bench, reading: Reading, affected: Sequence[str], spared: Sequence[str]
) -> dict[str, Any]:
    """Give the likely sites and the next examination as HTML, and the first of it to hear."""
    found = anatomies.localize(reading.anatomy, affected, spared)
    lines = [_line(reading, group) for group in found.groups[:SHOWN_SITES]]
    rest = sum(group.probability for group in found.groups[SHOWN_SITES:])
    others = sum(len(group.sites) for group in found.groups[SHOWN_SITES:])
    following = found.next
    html = bench.view.fill(
        "map/_sites.html",
        lines=lines,
        others=others,
        rest=percent(rest),
        counts={"affected": len(affected), "spared": len(spared)},
        misses=_misses(reading, found),
        following=None if following is None else _following(reading, following),
        map_words=dict(reading.folder.words),
    )
    heard = (
        bench.view.say("web.map.sites-heard", site=lines[0].sites[0][1], figure=lines[0].figure)
        if lines
        else ""
    )
    return {"html": html, "heard": heard}


def _line(reading: Reading, group: anatomies.SiteGroup) -> SiteLine:
    map_ = reading.anatomy.map
    shown = group.sites[:NAMES_IN_A_GROUP]
    return SiteLine(
        tuple((site, site_name(map_, site)) for site in shown),
        len(group.sites) - len(shown),
        percent(group.probability),
        group.probability,
    )


def _misses(reading: Reading, found: anatomies.Localization) -> list[str]:
    """Give what the likeliest site does not explain."""
    if not found.sites:
        return []
    return [reading.anatomy.target(name).name for name in found.sites[0].misses]


def _following(reading: Reading, following: anatomies.NextExamination) -> dict[str, Any]:
    target = reading.anatomy.target(following.target)
    outcomes = [
        {
            "finding": "affected" if outcome.affected else "spared",
            "line": _line(reading, outcome.groups[0]),
        }
        for outcome in following.outcomes
        if outcome.groups
    ]
    return {"id": target.id, "name": target.name, "test": target.test, "outcomes": outcomes}
