"""The line to one device: one message in is one move, everything out is one view.

A message is ``{"position": N, "move": …}`` as JSON text. What is no such thing, too long or
too frequent is refused, and ends the line when it goes on. Nothing that a device sends
names a seat: the seat is the token's.
"""

from __future__ import annotations

import asyncio
import json
from collections.abc import Awaitable, Callable
from dataclasses import dataclass
from time import monotonic
from typing import Any, Protocol

import anyio
from starlette.concurrency import run_in_threadpool
from starlette.websockets import WebSocket, WebSocketDisconnect, WebSocketState

from nervure.web.pages.play.hall import Hall

LARGEST_MESSAGE = 2000  # characters; the longest move has fewer than 200
MESSAGES_A_SECOND = 8.0
BURST = 24.0
MISSHAPEN_ALLOWED = 20
GONE, TOO_LARGE, NOT_SO = 4404, 1009, 1008  # codes that a line is closed with


class Misshapen(ValueError):
    """A message that is no move."""


@dataclass(frozen=True, slots=True)
class Sent:
    """One message of a device."""

    position: int
    move: Any


class Device(Protocol):
    """What a line serves."""

    def view(self) -> dict[str, Any] | None:
        """Give what the device may see now; None if the table is gone."""

    def take(self, sent: Sent) -> str:
        """Do what was sent; give the sentence that refuses it, or ""."""


def read_message(text: str) -> Sent:
    """Read a message; `Misshapen` if it is none."""
    try:
        found = json.loads(text, parse_constant=_refuse)
    except (ValueError, RecursionError) as problem:
        raise Misshapen from problem
    if not isinstance(found, dict) or set(found) != {"position", "move"}:
        raise Misshapen
    position = found["position"]
    if type(position) is not int or not 0 <= position < 2**31:
        raise Misshapen
    return Sent(position, found["move"])


def _refuse(_: str) -> None:
    raise ValueError


class Rate:
    """A bucket of messages, filled at an even rate."""

    def __init__(self, seconds: Callable[[], float] = monotonic) -> None:
        self._seconds, self._left, self._then = seconds, BURST, seconds()

    def take(self) -> bool:
        """Take one message; False if there are too many."""
        now = self._seconds()
        self._left = min(BURST, self._left + (now - self._then) * MESSAGES_A_SECOND)
        self._then = now
        self._left -= 1
        return self._left >= 0


async def serve(
    socket: WebSocket, hall: Hall, table: int, device: Device, say: Callable[[str], str]
) -> None:
    """Serve a device until it or its table goes; `say` gives a sentence of ``web.play``."""
    await socket.accept()
    with hall.listening(table) as changed:
        changed.set()
        hall.wake(table)
        line = _Line(socket, hall, table, device, say)
        codes: list[int] = []

        async def until_its_end(half: Callable[[asyncio.Event], Awaitable[int]]) -> None:
            codes.append(await half(changed))
            group.cancel_scope.cancel()  # what a thread has begun is ended first

        async with anyio.create_task_group() as group:
            group.start_soon(until_its_end, line.show)
            group.start_soon(until_its_end, line.take)
        code = codes[0] if codes else 0
        if code and socket.client_state is WebSocketState.CONNECTED:
            await socket.close(code)


class _Line:
    """Two halves of a line; each gives the code to close it with, 0 if the device left."""

    def __init__(
        self,
        socket: WebSocket,
        hall: Hall,
        table: int,
        device: Device,
        say: Callable[[str], str],
    ) -> None:
        self._socket, self._hall, self._table = socket, hall, table
        self._device, self._say = device, say
        self._rate, self._misshapen = Rate(), 0
        self._sending, self._showing = asyncio.Lock(), asyncio.Lock()

    async def show(self, changed: asyncio.Event) -> int:
        while True:
            await changed.wait()
            changed.clear()
            code = await self._show_now()
            if code is not None:
                return code

    async def _show_now(self) -> int | None:
        """Show the device where things stand; gives the code to close with, None to go on."""
        async with self._showing:  # an older view must not come after a newer one
            view = await run_in_threadpool(self._device.view)
            if view is None:
                return GONE
            return None if await self._send(view) else 0

    async def take(self, changed: asyncio.Event) -> int:
        while True:
            try:
                text = await self._socket.receive_text()
            except WebSocketDisconnect:
                return 0
            except KeyError:  # bytes
                return TOO_LARGE
            if len(text) > LARGEST_MESSAGE:
                return TOO_LARGE
            if not self._rate.take():
                return NOT_SO
            try:
                refused = await run_in_threadpool(self._device.take, read_message(text))
            except Misshapen:
                self._misshapen += 1
                if self._misshapen > MISSHAPEN_ALLOWED:
                    return NOT_SO
                refused = self._say("misshapen")
            if refused and not await self._send({"refused": refused}):
                return 0
            try:
                # Whoever moved is answered first, also after a refusal.
                code = await self._show_now()
            finally:
                if not refused:
                    self._hall.tell(self._table, but=changed)
            if code is not None:
                return code

    async def _send(self, message: dict[str, Any]) -> bool:
        text = json.dumps(message, ensure_ascii=False, separators=(",", ":"))
        async with self._sending:
            try:
                await self._socket.send_text(text)
            except (WebSocketDisconnect, RuntimeError):  # it left meanwhile
                return False
        return True
