"""Write the golden playthroughs: ``tests/golden/*.txt``, whole games as readable text.

``python tools/make_golden.py`` looks for short games that together use every rule and
move that a game can reach, and writes them; ``--same`` plays the games that are there
again, and changes what is played but not which games. ``tests/golden/test_golden.py``
plays each from its header and compares line by line. One file, however long: what a game
shows is noted where its line is written.
"""

from __future__ import annotations

import sys
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from functools import cache
from pathlib import Path

from nervure.engine import RESULT_VERSION, EndedBy, Games, Move, MoveNumber, Position, TableStrand
from nervure.engine import Tie as TieOf
from nervure.game import Game, Tables, compile_game, read_game
from nervure.game.bonuses import EFFECTS, Bonus
from nervure.project import read_folder

FOLDER = Path(__file__).resolve().parent.parent / "tests" / "golden"
MOST_LINES = 150
GAMES = 26
DEALS = 60  # looked through for each design, number of seats and line-up
SEED = 11
PARTLY = ("sprinter@0.5", "weigher@0.25", "builder@0")

NOT_REACHED = {
    "end: unfinished": "the safety bound is 4 x part cards + 100 turns: no game to read",
}
"""What the games do not show, each with its reason."""

ENDS = ("claims", "points", "rounds", "stock-empty", "clock", "all-passed")
TIE_BREAKS = ("full-strands", "fewest-cards", "claims", "target", "last-seat")
KEYS = {
    "draws": ("stock", "display", "swap", "take-loose", "lift"),
    "connect": ("true", "neighbours"),
    "skip_tiers": (True, False),
    "insert": (True, False),
    "supply": ("true", "main", "last-card"),
    "claim_needs": ("last", "origin"),
    "full_strand": ("way", "deck"),
    "join": ("any-time", "instead-of-play"),
    "claim": ("any-time", "instead-of-play"),
    "must_play": (True, False),
    "refill": (True, False),
    "swapped_go": ("pile", "under"),
    "may_pass": ("never", "stock-empty", "always"),
}
"""Keys of [rules] of which every value stands in some design that is played."""


@dataclass(frozen=True, slots=True)
class Plan:
    """One game: which design, which deal, who plays."""

    design: str
    seed: int
    deal: int
    line_up: tuple[str, ...]

    @property
    def name(self) -> str:
        """The name of its file, without the ending."""
        first = self.line_up[0].replace("@", "-at-")
        return f"{self.design}-{len(self.line_up)}-{self.deal}-{first}"


def wanted() -> set[str]:
    """Give everything that the games are to show between them."""
    moves = [number.name.lower().replace("_", "-") for number in MoveNumber]
    found = {f"move: {name}" for name in moves}
    found |= {f"end: {name}" for name in ENDS}
    found |= {f"end: {by.name.lower().replace('_', '-')}" for by in EndedBy if by.value}
    found.add("end: all-passed with rivals")
    found |= {f"tie: {name}" for name in (*TIE_BREAKS, "shared", "clear")}
    found |= {f"{when}: {name}" for when, names in EFFECTS.items() for name in names}
    found |= {f"players: {seats}" for seats in range(1, 7)}
    found |= {f"{key} = {value}" for key, values in KEYS.items() for value in values}
    found |= {f"style: {style}" for style in ("chance", "sprinter", "builder")}
    found |= {f"refused: {move}" for move in ("attach", "join", "claim", "take-loose")}
    found |= {"knows a part", "untrue claim"}
    found |= {
        "swap under the stock",
        "late lift",
        "insert between two cards",
        "secret target claimed",
        "wild:TIER laid",
        "wild:any laid",
        "wild in a claim",
        "strand with a gap claims",
        "short claim",
        "points for a kind",
        "no display",
        "no claim_needs",
        "seat_cards",
        "value by number of players",
        "bonus printed on a tier",
        "turn closes by itself",
    }
    return found


@cache
def design(name: str) -> Game:
    """Read a design of tests/golden/designs.

    Raises
    ------
    ValueError
        It cannot be played.
    """
    game = read_game(read_folder(FOLDER / "designs" / name))
    if not game.ok:
        raise ValueError([fault.message for fault in game.faults])
    return game


@cache
def tables(name: str, seats: int) -> Tables:
    """Compile a design for a number of seats, once."""
    return compile_game(design(name), seats)


class Playthrough:
    """Plays a planned game; its text by lines, and what it shows."""

    def __init__(self, plan: Plan, most_lines: int = 10**6) -> None:
        self.plan = plan
        self.game = design(plan.design)
        self.seats = len(plan.line_up)
        compiled = tables(plan.design, self.seats)
        self.position = Position.start(compiled, plan.seed, plan.deal, line_up=plan.line_up)
        self.shows = {f"players: {self.seats}", *(f"style: {name}" for name in plan.line_up)}
        if any("@" in name for name in plan.line_up):
            self.shows.add("knows a part")
        self.shows |= _shown_by_rules(self.game, self.seats)
        self.lines = self._header()
        while not self.position.finished and len(self.lines) < most_lines:
            self._decision()
        if self.position.finished:
            self._end()

    def _header(self) -> list[str]:
        plan, place = self.plan, self.position
        lines = [
            f"design {plan.design} {self.game.version}",
            f"result version {RESULT_VERSION}",
            f"seed {plan.seed}",
            f"deal {plan.deal}",
            f"seats {self.seats}",
            f"line-up {' '.join(plan.line_up)}",
            "",
        ]
        for seat in range(self.seats):
            secret = place.secret_targets(seat)
            also = f"; secret {' '.join(secret)}" if secret else ""
            lines.append(f"seat {seat + 1} is dealt {_cards(place.hand(seat))}{also}")
        return [*lines, self._middle(), ""]

    def _middle(self) -> str:
        place = self.position
        held = " ".join(name or "-" for name in place.open_targets) or "none"
        return f"display {_cards(place.display)}; open {held}"

    def _decision(self) -> None:
        place = self.position
        legal = place.legal_moves()
        before, seat, turn = place.clone(), place.seat_to_move, place.turn
        move = place.choose(self.plan.line_up)
        place.apply(move)
        number = MoveNumber(move.number)
        if place.refused(seat) > before.refused(seat):
            self.shows.add(f"refused: {place.name(move)[0]}")
            told = f"tries to {_in_words(before, seat, move, self.game)}, refused"
            self.lines.append(f"turn {turn} seat {seat + 1}: {told} (of {len(legal)})")
            if place.finished or place.turn != turn:
                self._turn_ends(turn)
            return
        self.shows.add(f"move: {place.name(move)[0]}")
        self._note(before, seat, move)
        told = ", ".join([_in_words(before, seat, move, self.game), *self._gains(before, move)])
        if number in (MoveNumber.LET, MoveNumber.CANCEL):
            told = f"replies: {told}"
        self.lines.append(f"turn {turn} seat {seat + 1}: {told} (of {len(legal)})")
        if place.finished or place.turn != turn:
            self._turn_ends(turn)

    def _turn_ends(self, turn: int) -> None:
        place, seats = self.position, range(self.seats)
        last = place.turn if place.finished else place.turn - 1
        if last > turn:
            which = f"turn {last} closes" if last == turn + 1 else f"turns {turn + 1}-{last} close"
            self.lines.append(f"  {which} with nothing to decide")
            self.shows.add("turn closes by itself")
        hands = " ".join(str(sum(place.hand(seat).values())) for seat in seats)
        self.lines += [
            f"  hands {hands}; points {' '.join(str(place.points(seat)) for seat in seats)};"
            f" stock {len(place.stock)}, pile {sum(place.pile.values())},"
            f" targets {len(place.target_stock)}; {self._middle()}",
            "  "
            + "; ".join(
                f"seat {seat + 1}: {' '.join(map(_strand, place.strands(seat))) or 'nothing'}"
                for seat in seats
            ),
        ]

    def _gains(self, before: Position, move: Move) -> list[str]:
        told, place = [], self.position
        seat = int(before.seat_to_move)
        gained = place.points(seat) - before.points(seat)
        if gained:
            told.append(f"points {gained}")
        if move.number != MoveNumber.CLAIM:
            return told
        strand = before.strands(seat)[move.args[0]]
        target = before.tables.targets[move.args[1]]
        cards = sum(name is not None for name in strand.slots[strand.gap :])
        if strand.gap:
            self.shows.add("strand with a gap claims")
        if any(name and name.startswith("wild") for name in strand.slots):
            self.shows.add("wild in a claim")
        if cards < self.game.rules.claim_minimum:
            self.shows.add("short claim")
        if target not in before.open_targets:
            self.shows.add("secret target claimed")
            told.append("a secret target")
        listed = self.game.points_of[target]
        rung = min(max(0, cards - self.game.rules.claim_minimum), len(listed) - 1)
        if gained > listed[rung]:
            self.shows.add("points for a kind")
        if _row(place).full_claims[0, seat] > _row(before).full_claims[0, seat]:
            told.append("a full strand")
            bonus = self._earned(strand, target)
            if bonus:
                told.append(f"earns {bonus.id}")
                if bonus.when != "one-time":
                    self.shows |= {f"{bonus.when}: {does.name}" for does in bonus.effects}
        return told

    def _earned(self, strand: TableStrand, target: str) -> Bonus | None:
        for card in (target, *strand.slots):
            if card is not None and card in self.game.bonus_of:
                held = self.game.bonus_of[card]
                return next(bonus for bonus in self.game.bonuses if bonus.id == held)
        return None

    def _note(self, before: Position, seat: int, move: Move) -> None:
        number, rules = MoveNumber(move.number), self.game.rules
        if number is MoveNumber.SWAP and rules.swapped_go == "under":
            self.shows.add("swap under the stock")
        if number is MoveNumber.LIFT and not before.stock:
            self.shows.add("late lift")
        if number in (MoveNumber.LAY, MoveNumber.ATTACH):
            kind = before.tables.placed_kinds[move.args[-1]]
            if kind.startswith("wild"):
                self.shows.add("wild:any laid" if "any" in kind else "wild:TIER laid")
        if number is MoveNumber.ATTACH:
            tiers = _tiers_held(before.strands(seat)[move.args[0]])
            tier = int(before.tables.strands.kind_tier[move.args[1]])
            if min(tiers) < tier < max(tiers):
                self.shows.add("insert between two cards")
        if number is MoveNumber.USE:
            self.shows |= {
                f"one-time: {does.name}" for does in self.game.bonuses[move.args[0]].effects
            }

    def _end(self) -> None:
        games = self.position.result()
        by = EndedBy(int(games.ended_by[0]))
        ends = self.game.rules.end.at(self.seats)
        reason = by.name.lower().replace("_", "-")
        if by is EndedBy.OWN_RULE:
            reason = " or ".join(map(str, ends))
            if len(ends) == 1:
                self.shows.add(f"end: {str(ends[0]).split(':')[0]}")
            if str(ends[0]) == "all-passed" and self.seats > 1:
                self.shows.add("end: all-passed with rivals")
        else:
            self.shows.add(f"end: {reason}")
        self.lines += ["", f"end by {reason} in turn {games.turns[0]}"]
        if self.seats > 1:
            self.lines.append(f"winner {self._winner(TieOf(int(games.tie[0])))}")
        for seat in range(self.seats):
            self.lines.append(
                f"seat {seat + 1} points {games.points[0, seat]}"
                f" (claims {games.points_length[0, seat]}, bonuses {games.points_bonus[0, seat]})"
                f" full strands {games.full_claims[0, seat]} share {games.share[0, seat]}/60"
                f"{self._went_wrong(games, seat)}"
            )

    def _went_wrong(self, games: Games, seat: int) -> str:
        refused, untrue = int(games.refused[0, seat]), int(games.untrue_claims[0, seat])
        if untrue:
            self.shows.add("untrue claim")
        told = f" refused {refused}" if refused else ""
        return f"{told} untrue claims {untrue}" if untrue else told

    def _winner(self, tie: TieOf) -> str:
        breaks = self.game.rules.tie_breaks
        if tie is TieOf.TIE_BREAK:
            if len(breaks) == 1:
                self.shows.add(f"tie: {str(breaks[0]).split(':')[0]}")
            return f"by tie-break: {', '.join(map(str, breaks))}"
        self.shows.add("tie: shared" if tie is TieOf.SHARED else "tie: clear")
        return "shared" if tie is TieOf.SHARED else "by points"


def _shown_by_rules(game: Game, seats: int) -> set[str]:
    rules, shown = game.rules, set()
    for key, values in KEYS.items():
        held = getattr(rules, key)
        held = held if isinstance(held, tuple) else (held,)
        shown |= {f"{key} = {value}" for value in values if value in held}
    if rules.display.at(seats) == 0:
        shown.add("no display")
    if not rules.claim_needs:
        shown.add("no claim_needs")
    if any(rules.seat_cards[:seats]):
        shown.add("seat_cards")
    if len(rules.hand.entries) > 1:
        shown.add("value by number of players")
    if game.bonuses and game.bonus_settings.printed_on != "target":
        shown.add("bonus printed on a tier")
    return shown


def _row(position: Position) -> Games:
    return position.clone().result()


def _tiers_held(strand: TableStrand) -> list[int]:
    return [tier for tier, name in enumerate(strand.slots) if name is not None]


def _cards(counts: dict[str, int]) -> str:
    cards = [f"{count}x{name}" if count > 1 else name for name, count in counts.items()]
    return " ".join(cards) or "none"


def _strand(strand: TableStrand) -> str:
    text = ""
    for tier, name in enumerate(strand.slots):
        if name is not None:
            joint = "~" if strand.gap and tier == strand.gap else "+"
            text += f"{joint if text else ''}{name}"
    return f"{strand.copies}x{text}" if strand.copies > 1 else text


def _one(strand: TableStrand) -> str:
    return _strand(TableStrand(strand.slots, strand.gap, 1))


def _in_words(before: Position, seat: int, move: Move, game: Game) -> str:
    """Give a move in words, its strands and seats as they were before it."""
    name, *named = before.name(move)
    own, args = before.strands(seat), move.args
    match MoveNumber(move.number):
        case MoveNumber.ATTACH | MoveNumber.ATTACH_GAP:
            over = " over a gap" if move.number == MoveNumber.ATTACH_GAP else ""
            return f"attach {named[1]} to {_one(own[args[0]])}{over}"
        case MoveNumber.JOIN:
            return f"join {_one(own[args[0]])} and {_one(own[args[1]])}"
        case MoveNumber.CLAIM:
            return f"claim {named[1]} with {_one(own[args[0]])}"
        case MoveNumber.LIFT:
            return f"lift the {('proximal', 'distal')[args[1]]} end of {_one(own[args[0]])}"
        case MoveNumber.TAKE_LOOSE:
            rival = (seat + args[0]) % before.tables.seats
            return f"take {named[2]} from seat {rival + 1} to {_one(own[args[1]])}"
        case MoveNumber.USE:
            return _use_in_words(before, seat, args, game)
        case _:
            return " ".join([name, *named])


def _use_in_words(before: Position, seat: int, args: Sequence[int], game: Game) -> str:
    """Give the use of a bonus in words; the bonuses here ask for one thing at most."""
    bonus, own = game.bonuses[args[0]], before.strands(seat)
    told = f"use {bonus.id} ({', '.join(bonus.does)})"
    if not args[1:]:
        return told
    effects = {effect.name for effect in bonus.effects}
    if "exchange-open" in effects:
        return f"{told} on {before.tables.targets[args[1]]}"
    if "take-any-loose" in effects:
        rival = (seat + args[1]) % before.tables.seats
        return f"{told} on {before.tables.placed_kinds[args[2]]} of seat {rival + 1}"
    end = ("proximal", "distal")[args[2]]
    return f"{told} from the {end} end of {_one(own[args[1]])} to {_one(own[args[3]])}"


def plan_of(path: Path) -> Plan:
    """Read which game a file holds from its header."""
    head = path.read_text("utf-8").split("\n\n", 1)[0]
    held = dict(line.split(" ", 1) for line in head.splitlines())
    return Plan(
        held["design"].split()[0],
        int(held["seed"]),
        int(held["deal"]),
        tuple(held["line-up"].split()),
    )


def candidates() -> Iterable[Plan]:
    """Give the games to choose among: every design, number of seats, some line-ups."""
    for folder in sorted((FOLDER / "designs").iterdir()):
        least, most = design(folder.name).rules.players
        for seats in range(least, most + 1):
            mixed = (("builder", "sprinter") * 3)[:seats]
            for deal in range(DEALS):
                yield Plan(folder.name, SEED, deal, ("chance",) * seats)
                if deal < DEALS // 5:
                    yield Plan(folder.name, SEED, deal, mixed)
                if design(folder.name).rules.parts_show == "nothing":
                    yield Plan(folder.name, SEED, deal, PARTLY[:seats])


def chosen() -> list[Playthrough]:
    """Choose games that show all: again and again the one with most that is new.

    Among equals, games that end otherwise than by nobody moving, then those that show more.
    The rest, up to GAMES, are other designs and numbers of seats.
    """
    played = (Playthrough(plan, MOST_LINES) for plan in candidates())
    short = [game for game in played if game.position.finished and len(game.lines) <= MOST_LINES]

    def worth(game: Playthrough) -> tuple[bool, int, int]:
        stops = game.position.ended_by is EndedBy.NOBODY_MOVES
        return not stops, len(game.shows), -len(game.lines)

    found: list[Playthrough] = []
    missing = wanted() - set(NOT_REACHED)
    while missing:
        best = max(short, key=lambda game: (len(game.shows & missing), *worth(game)))
        if not best.shows & missing:
            print("not shown by any game:", *sorted(missing), sep="\n  ")
            break
        found.append(best)
        missing -= best.shows
    for game in sorted(short, key=worth, reverse=True):
        held = {(other.plan.design, other.seats) for other in found}
        if len(found) < GAMES and (game.plan.design, game.seats) not in held:
            found.append(game)
    return found


def main(arguments: Sequence[str]) -> None:
    """Write the files; old ones go first."""
    old = sorted(FOLDER.glob("*.txt"))
    games = [Playthrough(plan_of(path)) for path in old] if "--same" in arguments else chosen()
    for path in old:
        path.unlink()
    for game in games:
        text = "\n".join(game.lines) + "\n"
        (FOLDER / f"{game.plan.name}.txt").write_text(text, "utf-8", newline="\n")
    print(f"{len(games)} games, {sum(len(game.lines) for game in games)} lines")


if __name__ == "__main__":
    main(sys.argv[1:])
