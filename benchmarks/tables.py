"""How long a mover waits: ``python benchmarks/tables.py [--tables 15] [--seats 4] [--moves 25]``.

Starts a workbench of its own on the loopback, lays tables of the demo game, lets a device sit
down at every seat, and plays: whoever is to move thinks for a while and presses one of the
moves that are offered. Measured is the time from sending a move to the mover's own answer,
the next view of the table, in three turns: people only; with a computer player at every
table; with a playtest running beside. Bounded in moves and in time; it prints, and makes
nothing fail.
"""

from __future__ import annotations

import argparse
import asyncio
import html
import http.cookiejar
import json
import os
import random
import re
import shutil
import subprocess
import sys
import tempfile
import time
import urllib.parse
import urllib.request
from collections import Counter
from dataclasses import dataclass, field
from pathlib import Path

from websockets.asyncio.client import ClientConnection, connect
from websockets.exceptions import ConnectionClosed

from nervure import maps

THINKING = (1.5, 6.0)  # seconds for a decision; people take longer
SECONDS = 90  # a turn of the measurement ends after that in any case
MOVE = re.compile(r'data-move="([^"]*)"')
ADDRESS = re.compile(r"http://127\.0\.0\.1:\d+/")
RUN = "from nervure.cli import main; main()"
WAIT_FOR_A_WRITE = 0.1  # all devices have one address here, which may write 12 times a second


@dataclass
class Tally:
    """What was measured in one turn."""

    name: str
    waits: list[float] = field(default_factory=list)  # seconds
    refused: int = 0
    reasons: Counter[str] = field(default_factory=Counter)
    dropped: int = 0
    seconds: float = 0.0
    memory: float = 0.0  # megabytes of the server at the end

    def line(self) -> str:
        """Give the turn's line of the table."""
        ordered = sorted(self.waits)
        if not ordered:
            return f"| {self.name} | 0 | - | - | - | - | {self.memory:.0f} |"

        def at(share: float) -> str:
            return f"{1000 * ordered[min(len(ordered) - 1, int(share * len(ordered)))]:.0f}"

        rate = len(ordered) / self.seconds
        return (
            f"| {self.name} | {len(ordered):,} | {rate:.1f} | {at(0.5)} | {at(0.95)} | "
            f"{at(1)} | {self.memory:.0f} |"
        )


class Server:
    """A workbench in a process of its own."""

    def __init__(self, project: Path, data: Path) -> None:
        command = [sys.executable, "-c", RUN, "open", str(project)]
        self.process = subprocess.Popen(
            command,
            stdout=subprocess.PIPE,
            text=True,
            env={**os.environ, "NERVURE_DATA": str(data)},
        )
        assert self.process.stdout is not None
        for line in self.process.stdout:
            found = ADDRESS.search(line)
            if found:
                self.address = found[0].rstrip("/")
                break
        else:
            raise SystemExit("the workbench did not start")
        self.project = project.name
        jar = urllib.request.HTTPCookieProcessor(http.cookiejar.CookieJar())
        self.opener = urllib.request.build_opener(jar)

    def post(self, path: str, fields: list[tuple[str, str]]) -> tuple[str, str]:
        """Send a form; gives where it led and the page there."""
        request = urllib.request.Request(
            self.address + path,
            urllib.parse.urlencode(fields).encode(),
            {"Origin": self.address, "Sec-Fetch-Site": "same-origin"},
        )
        with self.opener.open(request, timeout=60) as answer:
            time.sleep(WAIT_FOR_A_WRITE)
            return answer.geturl(), answer.read().decode()

    def memory(self) -> float:
        """Give the resident memory of the server, in megabytes."""
        status = Path(f"/proc/{self.process.pid}/status")
        if not status.exists():
            return float("nan")
        found = re.search(r"VmRSS:\s+(\d+)", status.read_text("ascii"))
        return int(found[1]) / 1024 if found else float("nan")

    def close(self) -> None:
        """Stop it."""
        self.process.terminate()
        try:
            self.process.wait(10)
        except subprocess.TimeoutExpired:
            self.process.kill()


def lay(server: Server, people: int, computers: int) -> list[str]:
    """Lay a table; gives the addresses of the people's seats."""
    players = ["person"] * people + ["weigher"] * computers
    fields = [("seats", str(len(players))), ("devices", "several"), ("help", "2")]
    fields += [("who", player) for player in players] + [("name", "") for _ in players]
    led, page = server.post(f"/p/{server.project}/play/new", fields)
    table = led.rsplit("/", 1)[1]
    code = re.search(r"\b([A-Z]{4})\b(?=\s*<)", page)
    assert code, "the page of a new table shows its code"
    seats = []
    for seat in range(people):
        sitting = [("code", code[1]), ("table", table), ("seat", str(seat)), ("name", f"P{seat}")]
        seats.append(server.post("/join/sit", sitting)[0])
    return seats


class Device:
    """One person's device: it moves when moves are offered."""

    def __init__(self, address: str, tally: Tally, chance: random.Random) -> None:
        self.address = address.replace("http://", "ws://") + "/live"
        self.origin = address.split("/seat/")[0]
        self.tally, self.chance = tally, chance

    async def play(self, until: float) -> None:
        """Play until the game is over, or the time is up."""
        async with connect(self.address, origin=self.origin, max_size=2**22) as line:
            try:
                await self._play(line, until)
            except ConnectionClosed:
                self.tally.dropped += 1

    async def _play(self, line: ClientConnection, until: float) -> None:
        view = await self._view(line, until)
        while view and time.monotonic() < until:
            offered = [html.unescape(move) for move in MOVE.findall(view["html"])]
            offered = [move for move in dict.fromkeys(offered) if move != '"undo"']
            if not offered:
                view = await self._view(line, until)
                continue
            await asyncio.sleep(self.chance.uniform(*THINKING))
            move = json.loads(self.chance.choice(offered))
            begun = time.perf_counter()
            await line.send(json.dumps({"position": view["position"], "move": move}))
            was, view = view["position"], await self._view(line, until)
            while view and view["position"] == was:
                view = await self._view(line, until)
            if view:
                self.tally.waits.append(time.perf_counter() - begun)

    async def _view(self, line: ClientConnection, until: float) -> dict[str, str | int] | None:
        while (left := until - time.monotonic()) > 0:
            try:
                message = json.loads(await asyncio.wait_for(line.recv(), left))
            except TimeoutError:
                return None
            if "refused" in message:
                self.tally.refused += 1
                self.tally.reasons[message["refused"]] += 1
            elif "html" in message:
                return message
        return None


async def measure(
    server: Server, name: str, seats: list[str], moves: int, chance: random.Random
) -> Tally:
    """Let all devices play at the same time."""
    tally, begun = Tally(name), time.monotonic()
    until = begun + SECONDS
    devices = [Device(seat, tally, random.Random(chance.random())) for seat in seats]
    playing = []
    for device in devices:
        playing.append(asyncio.create_task(device.play(until)))
        await asyncio.sleep(WAIT_FOR_A_WRITE)
    while len(tally.waits) < moves * len(seats) and time.monotonic() < until:
        await asyncio.sleep(0.2)
    for task in playing:
        task.cancel()
    await asyncio.gather(*playing, return_exceptions=True)
    tally.seconds, tally.memory = time.monotonic() - begun, server.memory()
    return tally


def main() -> None:
    """Measure the three turns and print them."""
    parser = argparse.ArgumentParser(description="Measure how long a mover waits.")
    parser.add_argument("--tables", type=int, default=15)
    parser.add_argument("--seats", type=int, default=4)
    parser.add_argument("--moves", type=int, default=25, help="for every seat, in every turn")
    asked = parser.parse_args()
    chance = random.Random(7)
    with tempfile.TemporaryDirectory() as name:
        project = Path(name) / "marionette"
        shutil.copytree(maps.game_folder("giants-leg"), project)
        server = Server(project, Path(name) / "data")
        try:
            print("| turn | moves | moves/s | median ms | 95 % ms | longest ms | memory MB |")
            print("| --- | --- | --- | --- | --- | --- | --- |")
            for turn, computers, beside in (
                ("people only", 0, False),
                ("a computer player at every table", 1, False),
                ("people only, a playtest running", 0, True),
            ):
                seats = [
                    seat
                    for _ in range(asked.tables)
                    for seat in lay(server, asked.seats - computers, computers)
                ]
                if beside:
                    server.post(
                        f"/p/{server.project}/playtest/run",
                        [("what", "plan"), ("games", "200000")],
                    )
                tally = asyncio.run(measure(server, turn, seats, asked.moves, chance))
                print(tally.line(), flush=True)
                if tally.refused or tally.dropped:
                    print(f"refused {dict(tally.reasons)}, dropped {tally.dropped}")
        finally:
            server.close()


if __name__ == "__main__":
    main()
