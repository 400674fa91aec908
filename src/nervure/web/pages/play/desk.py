"""What the pages of Play work with: the tables, the hall, each game's cards and map."""

from __future__ import annotations

import hashlib
import hmac
from collections import OrderedDict
from dataclasses import dataclass, field
from threading import Lock
from typing import Any

from nervure.errors import BadUsage, NervureError
from nervure.table import TableGame, Tables, seat_view
from nervure.web.bench import Bench
from nervure.web.pages.play.faces import Faces, marksheet
from nervure.web.pages.play.hall import Hall
from nervure.web.pages.play.lights import TableMap
from nervure.web.pages.play.shown import Shown

GAMES_KEPT = 16
PASSED_PREFIX = "p-"


@dataclass(frozen=True, slots=True)
class GameShown:
    """How a table's game is shown: its cards and its map."""

    faces: Faces
    map: TableMap


@dataclass
class Desk:
    """The tables of a workbench and what shows them."""

    bench: Bench
    tables: Tables = field(init=False)
    hall: Hall = field(init=False)

    def __post_init__(self) -> None:
        self.tables = Tables(self.bench.storage)
        self.hall = Hall(self.step, self.bench.settings.pace)
        self._shown: OrderedDict[str, GameShown] = OrderedDict()
        self._lock = Lock()

    def say(self, key: str, **values: object) -> str:
        """Give a text of ``web.play.KEY``."""
        return self.bench.view.say(f"web.play.{key}", **values)

    def amount(self, key: str, count: int, **values: object) -> str:
        """Give the text ``web.play.KEY-one`` or ``-many``."""
        return self.bench.view.amount(f"web.play.{key}", count, **values)

    def step(self, table: int) -> bool:
        """Let a computer player make its move; False if none is to move."""
        try:
            game = self.tables.by_id(table)
            number = game.number
            if not game.turn_of_computer:
                return False
            game.step(number)
        except BadUsage:  # the table has moved on, or is gone
            return False
        return True

    def shown(self, game: TableGame) -> GameShown:
        """Give how a table's game is shown, made once for tables of one design."""
        key = game.design_digest
        with self._lock:
            if key not in self._shown:
                self._shown[key] = GameShown(Faces(game.game), TableMap(game.game))
                if len(self._shown) > GAMES_KEPT:
                    self._shown.popitem(last=False)
            return self._shown[key]

    def of_project(self, project: str, table: int) -> TableGame:
        """Give a table of a project; BadUsage if there is none."""
        game = self.tables.by_id(table)
        if game.project != project:
            raise BadUsage(self.say("gone"))
        return game

    def passed_key(self, table: int) -> str:
        """Give the key of the one device that is passed round at a table."""
        text = f"the device that is passed round at table {table}".encode()
        found = hmac.new(self.bench.settings.secret, text, hashlib.sha256)
        return PASSED_PREFIX + found.hexdigest()

    def address(self, game: TableGame, key: str) -> str:
        """Give the address of a seat, of the passed device, or of the spectators."""
        return f"/seat/{game.id}/{key}"

    def state(self, game: TableGame) -> str:
        """Give how a table stands, in a sentence."""
        view = seat_view(game, None)
        result = view["result"]
        if result is None:
            if view["waits_for"]:
                names = ", ".join(view["seats"][seat]["name"] for seat in view["waits_for"])
                return self.say("state-waiting", names=names)
            turn = view["turn"]
            return self.say("state-running", round=turn["round"], name=turn["name"])
        return self.won(view)

    def won(self, view: Any) -> str:
        """Give who has won, in a sentence."""
        result = view["result"]
        names = [view["seats"][seat]["name"] for seat in result["winners"]]
        points = self.amount("points", max((row["points"] for row in result["seats"]), default=0))
        if not names:
            return self.say("state-alone", points=points)
        key = "state-finished" if len(names) == 1 else "state-shared"
        return self.say(key, winners=", ".join(names), points=points)

    def table_html(self, shown: Shown) -> str:
        """Fill the part of the page that is sent to a device."""
        return self.bench.view.fill("play/_table.html", t=shown.values())

    @property
    def marksheet(self) -> Any:
        """The marks that every page with cards carries."""
        return marksheet()

    def tables_of(self, project: str) -> list[TableGame]:
        """Give the tables of a project that can be read, newest first."""
        try:
            return list(self.tables.of_project(project))
        except NervureError:
            return []
