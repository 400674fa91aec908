"""What ``check`` proves of a project, as one record for page, command line and Python."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from nervure.anatomy import Anatomy
from nervure.anatomy.evidence import Evidence, evidence
from nervure.anatomy.review import COLUMNS, Review, read_review, review_rows
from nervure.errors import Fault, has_errors, sort_faults
from nervure.game import Game, GameCheck, check_game
from nervure.report.leaf_facts import pathway_count

NO_GAME = ("targets", "untrue_strands", "printed_test", "ending")


@dataclass(frozen=True)
class CheckRecord:
    """The proof of a project.

    Attributes
    ----------
    game
        As read; its anatomy is built of what can be proved.
    faults
        Of folder, map, game and review sheet, sorted.
    exact
        Counts, odds, printed test and end; None while there are error faults.
    evidence
        The map beside what its sources say.
    review
        A colleague's sheet read back, None if there was none.
    """

    game: Game
    faults: tuple[Fault, ...]
    exact: GameCheck | None
    evidence: Evidence
    review: Review | None = None

    @property
    def anatomy(self) -> Anatomy:
        """The anatomy that the game stands on."""
        return self.game.anatomy

    @property
    def ok(self) -> bool:
        """Tell whether there is no error fault."""
        return not has_errors(self.faults)

    @property
    def review_sheet(self) -> str:
        """The review sheet as CSV, one line a supply, answers blank."""
        out = io.StringIO()
        writer = csv.DictWriter(out, COLUMNS, lineterminator="\r\n")
        writer.writeheader()
        writer.writerows(review_rows(self.anatomy))
        return out.getvalue()

    def to_dict(self) -> dict[str, Any]:
        """Give the record as plain data, with the keys that docs/commands.md names."""
        anatomy = self.anatomy
        exact = dict.fromkeys(NO_GAME) if self.exact is None else self.exact.to_dict()
        return {
            "ok": self.ok,
            "faults": [fault.to_dict() for fault in self.faults],
            "map": {
                "structures": len(anatomy.map.structures),
                "links": len(anatomy.map.links),
                "targets": len(anatomy.map.targets),
                "pathways": pathway_count(anatomy),
            },
            **exact,
            "evidence": self.evidence.to_dict(),
            "review": None if self.review is None else self.review.to_dict(),
        }


def check_record(game: Game, faults: Iterable[Fault], review: Path | None = None) -> CheckRecord:
    """Prove a game: exact counts if it is sound, and the map beside its sources.

    Parameters
    ----------
    game
        As `nervure.game.read_game` gives it.
    faults
        Those of the project.
    review
        A review sheet that came back.

    Raises
    ------
    FaultyProject
        The review sheet cannot be read.
    """
    read = None if review is None else read_review(review, game.anatomy)
    found = sort_faults([*faults, *(read.faults if read else ())])
    exact = None if has_errors(game.faults) else check_game(game)
    return CheckRecord(game, found, exact, evidence(game.anatomy), read)
