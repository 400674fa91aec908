"""How well the styles play: the ladder and the searcher's constants, on the bundled main game.

Run ``python benchmarks/search.py [deals]``; prints only. ``benchmarks/engine.py`` writes the
same tables, with fewer deals, on its page. Win shares are of the first style against the second
at two seats, both rotations of each deal, with 95 % intervals.
"""

from __future__ import annotations

import sys
from pathlib import Path

HERE = Path(__file__).parent
if str(HERE) not in sys.path:
    sys.path.insert(0, str(HERE))

from parts import strength  # noqa: E402 - found by the path above
from parts.designs import DEMO  # noqa: E402

from nervure.game import compile_game, read_game  # noqa: E402
from nervure.maps import game_folder  # noqa: E402
from nervure.project import read_folder  # noqa: E402


def main(deals: int) -> None:
    """Print the ladder, speeds of the searcher, and what its constants do."""
    game = compile_game(read_game(read_folder(game_folder(DEMO))), 2)
    print(strength.ladder(game, DEMO, deals).text(), "\n")
    print(strength.sweep(game, DEMO, deals).text())


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 20)
