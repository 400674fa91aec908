"""What pages are given: the shelf, the storage, the jobs, and how a page is filled."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any, Literal

from fastapi import APIRouter, Request
from fastapi.responses import HTMLResponse

from nervure.table import Jobs, Storage, Work
from nervure.web.settings import Settings
from nervure.web.shelf import OpenProject, Reading, Shelf

if TYPE_CHECKING:
    from nervure.web.view import View

State = Literal["order", "attention", "unmade"]


@dataclass(frozen=True)
class Bench:
    """What the routes of a page work with."""

    settings: Settings
    shelf: Shelf
    storage: Storage
    view: View
    jobs: Jobs = field(init=False)

    def project(self, id: str) -> OpenProject:
        """Give an open project; UnknownName (404) if none is open under this id."""
        return self.shelf.get(id)

    def page(
        self,
        request: Request,
        template: str,
        *,
        title: str,
        page: str = "",
        reading: Reading | None = None,
        status: int = 200,
        **values: Any,
    ) -> HTMLResponse:
        """Fill a page: header with the twig, the page's own sheet and script, footer.

        Parameters
        ----------
        request
            What is answered.
        template
            Such as ``map/page.html``: of the page's folder, or of ``templates/``.
        title
            Of the page.
        page
            The id of the page in the twig; its ``page.css`` and ``page.js`` are linked.
        reading
            The project that it is about.
        status
            Of the answer.
        values
            What the template shows; text is escaped, `markupsafe.Markup` is not.
        """
        html = self.view.page(
            self, request, template, title=title, page=page, reading=reading, **values
        )
        return HTMLResponse(html, status)

    def part(self, template: str, **values: Any) -> HTMLResponse:
        """Fill a piece of a page, for an answer that takes its place."""
        return HTMLResponse(self.view.fill(template, **values))


@dataclass(frozen=True, slots=True)
class Page:
    """A page of the workbench; its folder is ``pages/ID``.

    Attributes
    ----------
    id
        Names its folder, its address (``/p/PROJECT/ID``) and its name (``web.page.ID``).
    place
        Its leaf on the twig, 1 to 7; 0 for a page that belongs to no step.
    routes
        Makes the routes from the bench.
    state
        What its leaf shows for a project: in order, needs attention, not made yet.
    works
        Long work by kind of job, made from the bench.
    """

    id: str
    place: int
    routes: Callable[[Bench], APIRouter]
    state: Callable[[Reading], State] | None = None
    works: Callable[[Bench], Mapping[str, Work]] | None = None
