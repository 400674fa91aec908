"""What a device at a table is shown, and what it may do: a seat, a spectator, a passed one.

Each gives messages for one line (`nervure.web.pages.play.socket.Device`). A seat's moves are
made with its token; the one device that is passed round holds the keys of the seats that
were named when the table was laid, and shows a hand only after its player has said so.
"""

from __future__ import annotations

import hmac
from typing import Any

from nervure.errors import BadUsage
from nervure.table import TableGame, seat_view
from nervure.web.pages.play.desk import PASSED_PREFIX, Desk
from nervure.web.pages.play.shown import Shown, strands_of
from nervure.web.pages.play.socket import Misshapen, Sent

UNDO, SHOW = "undo", "show"


class _AtTable:
    """What all devices have in common: one table, what was shown last."""

    def __init__(self, desk: Desk, table: int, key: str) -> None:
        self.desk, self.table, self.key = desk, table, key
        self._entry: int | None = None
        self._strands: frozenset[tuple[int, str]] | None = None

    def game(self) -> TableGame | None:
        """Give the table, None if it is gone."""
        try:
            return self.desk.tables.by_id(self.table)
        except BadUsage:
            return None

    def shows(self, game: TableGame, seat: int | None) -> dict[str, Any]:
        """Give the message that shows the table to a seat or a spectator."""
        view = seat_view(game, seat)
        shown = Shown(
            view,
            self.desk.shown(game).faces,
            self.desk.say,
            self.desk.amount,
            self._strands,
            f"{self.desk.address(game, self.key)}/after",
        )
        message = {
            "position": view["position"],
            "title": f"{shown.now()} · {view['title']}",
            "html": self.desk.table_html(shown),
            "heard": shown.now() if self._entry is None else shown.since(self._entry),
        }
        self._strands = strands_of(view)
        self._entry = view["events"][-1]["entry"] if view["events"] else -1
        return message

    def makes(self, game: TableGame, token: str, sent: Sent) -> str:
        """Make a move with a token; give the sentence that refuses it, or ""."""
        if not isinstance(sent.move, str) or len(sent.move) > 80:
            raise Misshapen
        try:
            if sent.move == UNDO:
                game.undo(token, sent.position)
            else:
                game.move(token, sent.position, sent.move)
        except BadUsage as refused:
            return str(refused)
        return ""


class SeatDevice(_AtTable):
    """The device of one seat, or of spectators."""

    def __init__(self, desk: Desk, game: TableGame, key: str) -> None:
        super().__init__(desk, game.id, key)
        self.seat = game.token_seat(key)

    def view(self) -> dict[str, Any] | None:
        """Give what the seat may see now; None once its key opens nothing any more."""
        game = self.game()
        if game is None:
            return None
        if self.seat is not None and not self._is_still_mine(game):
            return None
        return self.shows(game, self.seat)

    def _is_still_mine(self, game: TableGame) -> bool:
        try:
            return game.token_seat(self.key) == self.seat
        except BadUsage:
            return False

    def take(self, sent: Sent) -> str:
        """Make the seat's move."""
        game = self.game()
        return self.desk.say("gone") if game is None else self.makes(game, self.key, sent)


class PassedDevice(_AtTable):
    """The one device that is passed round."""

    def __init__(self, desk: Desk, game: TableGame, key: str) -> None:
        super().__init__(desk, game.id, key)
        self._uncovered: int | None = None

    def seat(self, game: TableGame) -> int | None:
        """Give the seat whose hand may be shown now, None for none."""
        seats, deciding = game.passed_round, game.position.seat_to_move
        if len(seats) == 1:
            return seats[0]
        if deciding in seats and self._uncovered != deciding:
            return None
        return self._uncovered if self._uncovered in seats else None

    def is_covered(self, game: TableGame) -> bool:
        """Tell whether the device waits to be given to the next player."""
        deciding = game.position.seat_to_move
        is_asked = deciding in game.passed_round and game.over_by is None and not game.waits_for
        return is_asked and self.seat(game) != deciding

    def view(self) -> dict[str, Any] | None:
        """Give the cover, or what the player who holds the device may see."""
        game = self.game()
        if game is None:
            return None
        with game.lock:
            if not self.is_covered(game):
                return self.shows(game, self.seat(game))
            return self._cover(game)

    def _cover(self, game: TableGame) -> dict[str, Any]:
        view = seat_view(game, None)
        name = view["turn"]["name"]
        facts = Shown(view, self.desk.shown(game).faces, self.desk.say, self.desk.amount).facts()
        title = self.desk.say("cover-title", name=name)
        self._entry = None
        return {
            "position": view["position"],
            "title": title,
            "html": self.desk.bench.view.fill("play/_cover.html", name=name, facts=facts),
            "heard": title,
        }

    def take(self, sent: Sent) -> str:
        """Uncover the hand, or make the move of the player who holds the device."""
        game = self.game()
        if game is None:
            return self.desk.say("gone")
        with game.lock:
            deciding = game.position.seat_to_move
            if sent.move == SHOW:
                if sent.position == game.number and deciding in game.passed_round:
                    self._uncovered = deciding
                return ""
            seat = self.seat(game)
            if seat is None:
                return self.desk.say("covered")
            return self.makes(game, game.host_key(seat), sent)


def device_of(desk: Desk, table: int, key: str) -> SeatDevice | PassedDevice:
    """Give the device of an address.

    Raises
    ------
    BadUsage
        There is no such table, or the key opens nothing there.
    """
    game = desk.tables.by_id(table)
    if key.startswith(PASSED_PREFIX):
        if hmac.compare_digest(key.encode(), desk.passed_key(table).encode()):
            return PassedDevice(desk, game, key)
        raise BadUsage(desk.say("gone"))
    return SeatDevice(desk, game, key)
