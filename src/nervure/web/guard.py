"""Stands before every page: what may come in, and what every answer carries.

Comes in: any request. It is refused, with a sentence, if it names another host (a page
elsewhere may point a name of its own at this machine), if it writes and comes from
another site, if its body is too large, or if its sender asks too often; without the right
to edit it is led to the page that asks for the key. Every answer
carries the content policy and its companions.
"""

from __future__ import annotations

import ipaddress
import socket
from collections import OrderedDict
from collections.abc import Callable, Mapping
from time import monotonic
from urllib.parse import urlsplit

from fastapi import HTTPException
from starlette.datastructures import Headers, MutableHeaders
from starlette.requests import HTTPConnection
from starlette.responses import PlainTextResponse, RedirectResponse
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from nervure import words
from nervure.web.access import OPEN_PATHS, may_edit
from nervure.web.settings import LOOPBACK, Settings

POLICY = (
    "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self'; font-src 'self'; "
    "connect-src 'self'; form-action 'self'; base-uri 'none'; frame-ancestors 'none'"
)
HEADERS: Mapping[str, str] = {
    "content-security-policy": POLICY,
    "x-content-type-options": "nosniff",
    "x-frame-options": "DENY",
    # With "no-referrer" a browser posts forms with the origin "null", which is refused here.
    "referrer-policy": "same-origin",
    "cross-origin-opener-policy": "same-origin",
    "cross-origin-resource-policy": "same-origin",
    "permissions-policy": "camera=(), microphone=(), geolocation=(), payment=(), usb=()",
    "cache-control": "no-store",
}
SAFE = ("GET", "HEAD", "OPTIONS")
BURST = 8.0  # seconds' worth of requests at once
ADDRESSES = 2000  # remembered at most


class Guard:
    """The gate, as ASGI middleware."""

    def __init__(
        self, app: ASGIApp, settings: Settings, seconds: Callable[[], float] = monotonic
    ) -> None:
        self._app, self._settings = app, settings
        self._reads = Buckets(settings.reads_a_second, seconds)
        self._writes = Buckets(settings.writes_a_second, seconds)

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Let a request through, or answer it with a refusal."""
        if scope["type"] not in ("http", "websocket"):
            await self._app(scope, receive, send)
            return
        headers = Headers(scope=scope)
        refusal = self._refusal(scope, headers)
        if refusal is not None:
            await self._refuse(scope, receive, send, *refusal)
            return
        request = HTTPConnection(scope)
        if not (request.url.path.startswith(OPEN_PATHS) or may_edit(request, self._settings)):
            await self._ask_for_key(scope, receive, send)
        elif scope["type"] == "websocket":
            await self._app(scope, receive, send)
        else:
            await self._pass_on(scope, headers, receive, send)

    def _refusal(self, scope: Scope, headers: Headers) -> tuple[int, str] | None:
        hosts = headers.getlist("host")
        if len(hosts) != 1 or not is_own_name(hosts[0], self._settings):
            return 421, "web.refused.host"
        is_write = scope["type"] == "websocket" or scope["method"] not in SAFE
        client = scope["client"][0] if scope.get("client") else ""
        if not (self._writes if is_write else self._reads).take(client):
            return 429, "web.refused.rate"
        if is_write and not is_same_site(headers):
            return 403, "web.refused.site"
        length = headers.get("content-length", "0")
        if not length.isdecimal() or int(length) > self._largest(headers):
            return 413, "web.refused.size"
        return None

    def _largest(self, headers: Headers) -> int:
        has_files = headers.get("content-type", "").startswith("multipart/form-data")
        return self._settings.largest_upload if has_files else self._settings.largest_form

    async def _refuse(
        self, scope: Scope, receive: Receive, send: Send, status: int, key: str
    ) -> None:
        if scope["type"] == "websocket":
            await send({"type": "websocket.close", "code": 1008})
            return
        answer = PlainTextResponse(words.say(key, self._settings.language), status)
        await answer(scope, receive, _with_headers(send))

    async def _ask_for_key(self, scope: Scope, receive: Receive, send: Send) -> None:
        if scope["type"] == "websocket":
            await send({"type": "websocket.close", "code": 1008})
        else:
            await RedirectResponse("/key", 303)(scope, receive, _with_headers(send))

    async def _pass_on(self, scope: Scope, headers: Headers, receive: Receive, send: Send) -> None:
        largest, seen = self._largest(headers), 0

        async def bounded() -> Message:
            nonlocal seen
            message = await receive()
            seen += len(message.get("body", b""))
            if seen > largest:  # a body without a length, or with a false one
                raise HTTPException(413)
            return message

        await self._app(scope, bounded, _with_headers(send))


def _with_headers(send: Send) -> Send:
    async def sending(message: Message) -> None:
        if message["type"] == "http.response.start":
            headers = MutableHeaders(scope=message)
            for name, value in HEADERS.items():
                headers.setdefault(name, value)
        await send(message)

    return sending


def is_own_name(host: str, settings: Settings) -> bool:
    """Tell whether a Host header names this workbench.

    On loopback only the names of the loopback count. When others may reach it, so do
    plain addresses, which no foreign name can stand for, and the machine's own names.
    """
    try:
        parts = urlsplit(f"//{host}")
        name, port = (parts.hostname or "").rstrip("."), parts.port
    except ValueError:
        return False
    if parts.username is not None or parts.path or parts.query or parts.fragment or not name:
        return False
    if port != settings.port and not (port is None and settings.port == 80):
        return False
    if name in LOOPBACK or name in settings.also_known_as:
        return True
    if not settings.is_shared:
        return False
    machine = socket.gethostname().lower()
    return _is_address(name) or name in (machine, f"{machine}.local", settings.host.lower())


def _is_address(name: str) -> bool:
    try:
        ipaddress.ip_address(name)
    except ValueError:
        return False
    return True


def is_same_site(headers: Headers) -> bool:
    """Tell whether a request that writes was sent by a page of this workbench.

    Browsers say so themselves (``Sec-Fetch-Site``), and all of them name the origin of a
    post. What names neither is no browser's form, and is refused as well.
    """
    fetched = headers.get("sec-fetch-site")
    if fetched is not None and fetched != "same-origin":
        return False
    origin = headers.get("origin")
    if origin is None:
        return False
    parts = urlsplit(origin)
    return parts.scheme in ("http", "https") and parts.netloc == headers.get("host")


class Buckets:
    """A bucket of requests for each address, filled at an even rate."""

    def __init__(self, a_second: float, seconds: Callable[[], float]) -> None:
        self._rate, self._seconds = a_second, seconds
        self._left: OrderedDict[str, tuple[float, float]] = OrderedDict()

    def take(self, address: str) -> bool:
        """Take one for an address; False if it asks too often."""
        now, full = self._seconds(), self._rate * BURST
        left, then = self._left.pop(address, (full, now))
        left = min(full, left + (now - then) * self._rate)
        has_one = left >= 1
        self._left[address] = (left - 1 if has_one else left, now)
        if len(self._left) > ADDRESSES:
            self._left.popitem(last=False)
        return has_one
