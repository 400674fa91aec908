"""How the playtest page speaks: its texts in the language of the project, names, numbers."""

from __future__ import annotations

from dataclasses import dataclass

from nervure import words
from nervure.game import Game
from nervure.records import UNKNOWN, Interval, PlaytestResult, places_for, say_figure
from nervure.report.pages import amount
from nervure.report.svg import text

AREA = "playtest_page"


@dataclass(frozen=True)
class Talk:
    """The page's texts about one game."""

    game: Game

    @property
    def language(self) -> str:
        """The project's language."""
        return self.game.folder.language

    def tell(self, key: str, /, **values: object) -> str:
        """Give a text of the page, in the words of the map."""
        return words.say(f"{AREA}.{key}", self.language, **{**self.game.words, **values})

    def amount(self, key: str, count: int, /, **values: object) -> str:
        """Give the text for one or many."""
        return amount(f"{AREA}.{key}", count, self.language, **values)

    def has(self, key: str) -> bool:
        """Tell whether the page has a text."""
        return words.has(f"{AREA}.{key}", self.language)

    def head(self, key: str, /) -> tuple[str, ...]:
        """Give the heads of a table's columns, kept in one text with bars between."""
        return tuple(part.strip() for part in self.tell(key).split("|"))

    def listed(self, parts: list[str]) -> str:
        """Give names in a row: a, b and c."""
        if len(parts) < 2:
            return "".join(parts)
        return self.tell("and", first=", ".join(parts[:-1]), last=parts[-1])

    def name(self, target: str) -> str:
        """Give a target's name."""
        return self.game.anatomy.target(target).name

    def card(self, kind: str) -> str:
        """Give the name of a kind of part card."""
        if kind == "wild:any":
            return self.tell("cards.wild-any")
        if kind.startswith("wild:"):
            tiers = {row.id: row.name.lower() for row in self.game.anatomy.map.tiers}
            return self.tell("cards.wild", tier=tiers[kind.removeprefix("wild:")])
        if kind == "variant":
            return self.tell("cards.variant")
        return self.game.anatomy.structure(kind).name

    def reference(self, result: PlaytestResult) -> str:
        """Give who sat in the seats of the games that most measures come from."""
        for step in result.plan:
            if step["kind"] in ("seats", "line-up"):
                return self.listed(list(dict.fromkeys(step["line_up"])))
        return "–"

    def row_name(self, key: str, count: int, y: float) -> str:
        """Give a row's name at the left of a chart."""
        return text(self.amount(key, count), 0, y, class_="row")

    def signed(self, value: float, places: int | None = None) -> str:
        """Say a difference with its sign."""
        said = say_figure(value, "", places)
        return f"+{said}" if value > 0 and said.strip("0.") else said

    def interval(self, interval: Interval | None, unit: str, places: int | None = None) -> str:
        """Say an interval: "65.7 to 66.3"; nothing where there is none or it has no width."""
        if interval is None or interval[0] == interval[1]:
            return ""
        if max(map(abs, interval)) >= UNKNOWN:
            return self.tell("unknown")
        places = places_for(interval, unit) if places is None else places
        low, high = (say_figure(end, unit, places).removesuffix(" %") for end in interval)
        return self.tell("interval", low=low, high=high)
