"""Who may edit: on loopback everybody here, else who has typed the host key.

The right is kept in a signed cookie that scripts cannot read and other sites cannot send.
"""

from __future__ import annotations

import hmac

from itsdangerous import BadSignature, URLSafeTimedSerializer
from starlette.requests import HTTPConnection
from starlette.responses import Response

from nervure.web.settings import Settings

COOKIE = "nervure"
DAY = 86_400  # seconds
OPEN_PATHS = ("/key", "/static/", "/join", "/seat/")  # a seat's address is its own key


def _signer(settings: Settings) -> URLSafeTimedSerializer:
    return URLSafeTimedSerializer(settings.secret, salt="nervure.access")


def may_edit(request: HTTPConnection, settings: Settings) -> bool:
    """Tell whether a request comes from somebody who may edit."""
    if not settings.is_shared:
        return True
    try:
        rights = _signer(settings).loads(request.cookies.get(COOKIE, ""), max_age=DAY)
    except BadSignature:
        return False
    return isinstance(rights, dict) and rights.get("key") == _mark(settings)


def _mark(settings: Settings) -> str:
    """Bind a cookie to the key of this run, so that a new key ends old rights."""
    return hmac.new(settings.secret, settings.host_key.encode(), "sha256").hexdigest()[:16]


def is_host_key(text: str, settings: Settings) -> bool:
    """Compare a key in a time that tells nothing about it."""
    given = text.strip().upper().encode()
    return bool(settings.host_key) and hmac.compare_digest(given, settings.host_key.encode())


def give_right(answer: Response, settings: Settings) -> None:
    """Let who gets this answer edit, for a day."""
    answer.set_cookie(
        COOKIE,
        _signer(settings).dumps({"key": _mark(settings)}),
        max_age=DAY,
        httponly=True,
        samesite="strict",
    )
