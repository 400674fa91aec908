"""What a verb gives back: plain data under the keys of ``docs/commands.md``, ready to show."""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from importlib import resources
from typing import Any

from nervure import words
from nervure.errors import UnknownName

SHOWN_ROWS = 12

Rows = Sequence[Mapping[str, Any]]


@dataclass(frozen=True, repr=False)
class Result:
    """What a verb gives back.

    Attributes
    ----------
    kind
        The verb.
    data
        Plain data with the keys of ``docs/commands.md``.
    summary
        What it found, in a sentence.
    rows
        Its main table, one mapping a row.
    columns
        Those of the main table, also where it has no row.
    shown
        Those that a notebook shows; blank: all.

    Examples
    --------
    >>> result = Result("cut", {"affected": {"soleus": 1.0}}, "One target loses supply.")
    >>> result
    <cut: One target loses supply.>
    >>> result["affected"]
    {'soleus': 1.0}
    """

    kind: str
    data: Mapping[str, Any]
    summary: str
    rows: Rows = ()
    columns: tuple[str, ...] = ()
    shown: tuple[str, ...] = ()

    def __repr__(self) -> str:
        return f"<{self.kind}: {self.summary}>"

    def __getitem__(self, key: str) -> Any:
        return self.data[key]

    @property
    def caution(self) -> str | None:
        """The caution that belongs to what is shown; None where none is due."""
        return self.data.get("caution")

    def to_dict(self) -> dict[str, Any]:
        """Give the result as plain data, as ``--json`` prints it."""
        return dict(self.data)

    def to_polars(self, table: str | None = None) -> Any:
        """Give a table of the result as a polars data frame.

        Parameters
        ----------
        table
            One of the keys that hold rows, such as ``targets``; None: the main table.
            Rows that stand under names get the name as column ``name``; what is nested
            deeper than a list comes as JSON.

        Raises
        ------
        UnknownName
            No such table; names those that there are.
        """
        import polars  # loaded on asking: most runs never need it

        rows, columns = self.rows, self.columns
        if table is not None:
            tables = self._tables()
            if table not in tables:
                raise UnknownName(words.say("cli.table"), table, sorted(tables))
            rows, columns = tables[table], ()
        if not rows:
            return polars.DataFrame(schema=dict.fromkeys(columns, polars.String))
        flat = [{name: _flat(value) for name, value in row.items()} for row in rows]
        return polars.DataFrame(flat, infer_schema_length=None, strict=False)

    def _tables(self) -> dict[str, Rows]:
        found: dict[str, Rows] = {}
        for key, value in self.data.items():
            if isinstance(value, Mapping) and value and _all_rows(value.values()):
                found[key] = [{"name": name, **row} for name, row in value.items()]
            elif isinstance(value, list | tuple) and _all_rows(value):
                found[key] = value
        return found

    def _repr_html_(self) -> str:
        import jinja2  # as for polars

        from nervure.typeset.palette import HERBARIUM

        template = (resources.files(__package__) / "result.html").read_text("utf-8")
        known = tuple(dict.fromkeys(name for row in self.rows for name in row))
        columns = self.shown or self.columns or known
        page: str = jinja2.Template(template, autoescape=True, trim_blocks=True).render(
            result=self,
            columns=columns,
            rows=[[_shown(row.get(name)) for name in columns] for row in self.rows[:SHOWN_ROWS]],
            more=words.say("cli.more-rows", count=len(self.rows) - SHOWN_ROWS)
            if len(self.rows) > SHOWN_ROWS
            else "",
            colours=HERBARIUM,
        )
        return page


def many(key: str, count: int, **values: object) -> str:
    """Give the text ``KEY-one`` or ``KEY-many``, by the count."""
    return words.say(f"{key}-{'one' if count == 1 else 'many'}", count=count, **values)


def _all_rows(values: Any) -> bool:
    return all(isinstance(value, Mapping) for value in values)


def _flat(value: Any) -> Any:
    """Give a value that a column can hold: nested data as JSON."""
    if isinstance(value, Mapping):
        return json.dumps(value, ensure_ascii=False)
    if isinstance(value, list | tuple):
        nested = any(isinstance(each, Mapping | list | tuple) for each in value)
        return json.dumps(value, ensure_ascii=False) if nested else list(value)
    return value


def _shown(value: Any) -> str:
    """Write a value for people; nested data are left to `Result.to_dict`."""
    if value is None or value is False:
        return ""
    if value is True:
        return words.say("cli.yes")
    if isinstance(value, float):
        return f"{value:.3g}"
    if isinstance(value, list | tuple):
        return ", ".join(_shown(each) for each in value)
    if isinstance(value, Mapping):
        return "; ".join(f"{name} {_shown(each)}" for name, each in value.items())
    return str(value)
