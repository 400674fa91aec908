"""Templates to HTML: the frame of every page, and the words in it."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import jinja2
from fastapi import Request
from markupsafe import Markup

from nervure import words
from nervure.records import say_count
from nervure.report.marks import symbols
from nervure.web.bench import Bench, Page, State
from nervure.web.shelf import Reading
from nervure.web.statics import Statics

if TYPE_CHECKING:
    from collections.abc import Sequence


class View:
    """Fills the templates of the frame and of the pages' folders."""

    def __init__(self, statics: Statics, pages: Sequence[Page], language: str) -> None:
        self._statics, self._pages, self.language = statics, pages, language
        self._environment = jinja2.Environment(
            loader=jinja2.ChoiceLoader(
                [
                    jinja2.PackageLoader("nervure.web", "templates"),
                    jinja2.PackageLoader("nervure.web", "pages"),
                    jinja2.PackageLoader("nervure.report", "templates"),  # parts of pages
                ]
            ),
            autoescape=True,
            undefined=jinja2.StrictUndefined,
            trim_blocks=True,
            lstrip_blocks=True,
        )
        self._environment.globals.update(
            say=self.say,
            amount=self.amount,
            count=say_count,
            static=statics.address,
            language=language,
        )

    def say(self, key: str, /, **values: object) -> str:
        """Give a text in the workbench's language."""
        return words.say(key, self.language, **values)

    def amount(self, key: str, count: int, /, **values: object) -> str:
        """Give the text ``KEY-one`` or ``KEY-many``, by the count."""
        ending = "one" if count == 1 else "many"
        return words.say(f"{key}-{ending}", self.language, count=count, **values)

    def fill(self, template: str, **values: Any) -> str:
        """Fill one template."""
        return self._environment.get_template(template).render(**values)

    def page(
        self,
        bench: Bench,
        request: Request,
        template: str,
        *,
        title: str,
        page: str,
        reading: Reading | None,
        marks: Sequence[str] = (),
        **values: Any,
    ) -> str:
        """Fill a page with its frame; see `nervure.web.bench.Bench.page`."""
        return self.fill(
            template,
            title=title,
            page=page,
            reading=reading,
            game=reading.title if reading else "",
            address=f"/p/{reading.id}" if reading else "",
            steps=list(self._steps(page, reading)) if reading else [],
            several=len(bench.shelf) > 1,
            is_shared=bench.settings.is_shared,
            page_files=[
                name for name in ("css", "js") if self._statics.has(f"pages/{page}/page.{name}")
            ],
            symbols=Markup(symbols(marks)) if marks else "",
            path=request.url.path,
            **values,
        )

    def _steps(self, current: str, reading: Reading) -> list[dict[str, object]]:
        """Give the leaves of the twig: the pages that there are, with the state of each."""
        return [
            {
                "id": page.id,
                "place": page.place,
                "name": self.say(f"web.page.{page.id}"),
                "state": _state(page, reading),
                "current": page.id == current,
            }
            for page in self._pages
            if page.place
        ]


def _state(page: Page, reading: Reading) -> State:
    return page.state(reading) if page.state else "unmade"
