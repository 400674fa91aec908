"""Pages of ``out/``: the common frame, filled, and everything inside the one file.

A page asks for nothing outside itself: style sheet and faces are inlined, marks are drawn
in it. What it says comes from ``words/`` through ``say`` in the templates.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from functools import cache
from importlib import resources
from typing import Any, Literal

import jinja2
from markupsafe import Markup

from nervure import words
from nervure.report.marks import symbols

State = Literal["order", "attention", "unmade"]


@dataclass(frozen=True, slots=True)
class Step:
    """A leaf of the twig at the head of a page.

    ``state``: in order, needs attention, or not made yet (then without a link).
    ``sentence``, links to all its ``files`` and its ``picture`` stand beside it on the index
    page.
    """

    name: str
    href: str
    state: State
    sentence: str = ""
    current: bool = False
    files: tuple[str, ...] = ()
    picture: str = ""


@cache
def _environment() -> jinja2.Environment:
    environment = jinja2.Environment(
        loader=jinja2.PackageLoader("nervure.report", "templates"),
        autoescape=True,
        undefined=jinja2.StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    environment.filters["percent"] = percent
    environment.filters["shortly"] = lambda name, names: names.get(name, name)
    return environment


@cache
def asset(name: str) -> str:
    """Give the text of a file of ``report/assets``."""
    return (resources.files("nervure.report") / "assets" / name).read_text("utf-8")


def percent(share: float, places: int = 0) -> str:
    """Write a share as a percentage; what would be rounded to nothing or all says so.

    >>> percent(0.5), percent(0.001), percent(1.0), percent(0.999), percent(0.0)
    ('50\u202f%', '<\u202f1\u202f%', '100\u202f%', '>\u202f99\u202f%', '0\u202f%')
    """
    smallest = 10.0**-places
    value = 100 * share
    if 0 < value < smallest / 2:
        return f"<\u202f{smallest:.{places}f}\u202f%"
    if 100 - smallest / 2 <= value < 100:
        return f">\u202f{100 - smallest:.{places}f}\u202f%"
    return f"{value:.{places}f}\u202f%"


def amount(key: str, count: int, language: str = words.FALLBACK, **values: object) -> str:
    """Give the text ``KEY-one`` or ``KEY-many``, by the count."""
    return words.say(f"{key}-{'one' if count == 1 else 'many'}", language, count=count, **values)


def render(
    template: str,
    *,
    title: str,
    game: str,
    steps: Sequence[Step] = (),
    marks: Iterable[str] = (),
    css: str = "",
    language: str = words.FALLBACK,
    **values: Any,
) -> str:
    """Fill a template that extends ``base.html`` into a page that holds everything it needs.

    Parameters
    ----------
    template
        Its name in ``report/templates``.
    title, game
        Of the page; of the game or map, as the reader knows it.
    steps
        Leaves of the twig.
    marks
        Tier and kind marks to define, as ``#mark-NAME``.
    css
        Rules of this page alone.
    language
        Of the texts and of the document.
    values
        What the template shows; text is escaped, `markupsafe.Markup` is not.
    """

    def say(key: str, **given: object) -> str:
        return words.say(key, language, **given)

    def say_amount(key: str, count: int, **given: object) -> str:
        return amount(key, count, language, **given)

    return (
        _environment()
        .get_template(template)
        .render(
            title=title,
            game=game,
            steps=tuple(steps),
            symbols=Markup(symbols(marks)),
            fonts=Markup(asset("fonts.css")),
            style=Markup(asset("pages.css")),
            page_css=Markup(css),
            language=language,
            say=say,
            amount=say_amount,
            **values,
        )
    )


def index_page(game: str, steps: Sequence[Step], language: str = words.FALLBACK) -> str:
    """Give ``out/index.html``: what was made, each with its state in one line.

    Parameters
    ----------
    game
        Its title.
    steps
        In the order of the work; those not made yet say so.
    """
    order = [step for step in steps if step.state == "order"]
    attention = [step for step in steps if step.state == "attention"]
    following = next((step for step in steps if step.state != "order"), None)
    return render(
        "index.html",
        title=words.say("report.index-title", language),
        game=game,
        steps=steps,
        language=language,
        order=order,
        attention=attention,
        following=following,
    )
