"""``nervure open``: the workbench on a port, its addresses and keys told once."""

from __future__ import annotations

import os
import secrets
import socket
import sys
import webbrowser
from collections.abc import Callable, Sequence
from pathlib import Path
from threading import Timer

import uvicorn

from nervure import words
from nervure.errors import BadUsage, FaultyProject, Place, error
from nervure.table import open_storage
from nervure.web.app import create_app
from nervure.web.settings import LOOPBACK, Settings

PORT = 8731
KEY_LETTERS = "ABCDEFGHJKMNPQRSTUVWXYZ23456789"  # none that is taken for another
DATA_FILE = "workbench.sqlite3"
LARGEST_SOCKET_MESSAGE = 8192  # bytes; a move has fewer than 200


def data_folder() -> Path:
    """Give the folder of the storage: ``NERVURE_DATA``, else ``.nervure`` of the user."""
    return Path(os.environ.get("NERVURE_DATA") or Path.home() / ".nervure")


def serve(
    projects: Sequence[Path] = (),
    host: str = LOOPBACK[0],
    port: int | None = None,
    *,
    tell: Callable[[str], None],
    browse: bool = True,
    data: Path | None = None,
) -> None:
    """Open the workbench and stay until it is interrupted.

    Parameters
    ----------
    projects
        Folders to open.
    host
        Where to listen; anything but the loopback lets other machines in, with keys.
    port
        Default 8731, or the next free one.
    tell
        Told the address, the keys and the caution, line by line.
    browse
        Whether to show the first page in the browser.
    data
        Folder of the storage; default `data_folder`.

    Raises
    ------
    FaultyProject
        A project is no folder.
    BadUsage
        The port is taken, or the storage is in use.
    """
    for path in projects:
        if not Path(path).is_dir():
            raise FaultyProject([error("folder-missing", Place(str(path)))])
    door = _door(host, port)
    folder = data or data_folder()
    with open_storage(folder / DATA_FILE) as storage:
        settings = Settings(
            secret=storage.secret("cookies"),
            home=Path.cwd(),
            host=host,
            port=door.getsockname()[1],
            host_key="" if host in LOOPBACK else _key(8),
            join_code="" if host in LOOPBACK else _key(4),
        )
        app = create_app(projects, storage, settings)
        for line in _lines(settings):
            tell(line)
        if browse and sys.stdout.isatty():
            Timer(0.8, webbrowser.open, [address(settings)]).start()
        config = uvicorn.Config(
            app,
            log_level="warning",
            server_header=False,
            date_header=False,
            access_log=False,
            ws="websockets-sansio",
            ws_max_size=LARGEST_SOCKET_MESSAGE,
            timeout_graceful_shutdown=3,  # devices at a table hold a line open
        )
        uvicorn.Server(config).run(sockets=[door])


def _door(host: str, port: int | None) -> socket.socket:
    family = socket.AF_INET6 if ":" in host else socket.AF_INET
    wanted = [port] if port is not None else [*range(PORT, PORT + 20), 0]
    for number in wanted:
        door = socket.socket(family, socket.SOCK_STREAM)
        if os.name == "posix":
            door.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        try:
            door.bind((host, number))
            door.listen(128)  # whoever reads the address may come at once
        except OSError:
            door.close()
        else:
            return door
    raise BadUsage(words.say("web.serve.taken", host=host, port=port or PORT))


def _key(length: int) -> str:
    return "".join(secrets.choice(KEY_LETTERS) for _ in range(length))


def address(settings: Settings) -> str:
    """Give the address under which this machine's browser reaches the workbench."""
    name = settings.host if settings.host not in ("0.0.0.0", "::") else LOOPBACK[0]
    return f"http://{f'[{name}]' if ':' in name else name}:{settings.port}/"


def _lines(settings: Settings) -> list[str]:
    lines = [words.say("web.serve.open", address=address(settings))]
    if settings.is_shared:
        lines += [
            words.say("web.serve.shared", port=settings.port),
            words.say("web.serve.host-key", key=settings.host_key),
            words.say("web.serve.join-code", code=settings.join_code),
        ]
    return [*lines, words.say("web.serve.stop"), words.say("caution.lesions")]
