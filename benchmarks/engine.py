"""How fast complete games are played: ``python benchmarks/engine.py [--quick]``.

Prints one page, ratios first, and writes it to ``benchmarks/RESULTS.md`` (``--quick``, a
minute: only prints). What is measured and how: ``benchmarks/README.md``. Ends with 1 if a
release of numba undoes what docs/engine.md relies on: chance must play at least forty times
as many decisions as stepping through `Position` does.
"""

from __future__ import annotations

import argparse
import sys
import tempfile
import time
from pathlib import Path

HERE = Path(__file__).parent
if str(HERE) not in sys.path:
    sys.path.insert(0, str(HERE))

from parts import designs, page, processes, single_core, strength  # noqa: E402 - found by the path above

RESULTS = HERE / "RESULTS.md"


def main(words: list[str] | None = None) -> int:
    """Measure all, print the page, write it; gives the exit code."""
    parser = argparse.ArgumentParser(description="Measure how fast the engine plays.")
    parser.add_argument("--quick", action="store_true", help="a minute, prints only")
    quick = parser.parse_args(words).quick
    begun, before = time.perf_counter(), page.load()
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        say("the designs")
        games = designs.designs(folder)
        say("one core: styles, C, a general library")
        sections, well = single_core.measure(
            games, folder, repeats=2 if quick else 7, seconds=0.1 if quick else 0.4
        )
        sections.insert(1, single_core.sizes(games))
        say("two threads")
        sections.append(processes.threads(games, 0.5 if quick else 2.0))
        say("a cold and a warm start")
        sections.append(processes.starts(folder, 1 if quick else 4))
        if not quick:
            say("the searcher, the ladder, the searcher's constants")
            two = designs.demo(2)
            sections.append(strength.searching(games, "searcher:100", 1))
            sections.append(strength.ladder(two, designs.DEMO, 60))
            sections.append(strength.sweep(two, designs.DEMO, 15))
            say("memory")
            sections.append(processes.memory(folder, 1_000_000, 1_000_000))
    text = page.page(sections, before, (time.perf_counter() - begun) / 60, quick)
    print(text)
    if not quick:
        RESULTS.write_text(text, "utf-8")
    if not well:
        print(
            f"TOO SLOW: less than {single_core.LEAST_OVER_STEPS} times `Position`; docs/engine.md"
        )
    return 0 if well else 1


def say(what: str) -> None:
    """Tell what is being measured."""
    print(f"measuring {what} ...", file=sys.stderr, flush=True)


if __name__ == "__main__":
    sys.exit(main())
