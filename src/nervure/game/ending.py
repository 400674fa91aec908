"""The end of a game, reasoned from its rules, for every number of players.

docs/rules.md, "The end, reasoned". *out-of-reach*: an end that no game can come to, an error.
*stallable*: a player may put the end off for as long as they like, a warning that names the
moves; not where the game ends with a round, since rounds pass by themselves. Else *certain*.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

from nervure import words
from nervure.errors import Fault, error, warning
from nervure.game._door import key_place
from nervure.game.bonuses import Effect
from nervure.game.rules import End

if TYPE_CHECKING:
    from nervure.game.model import Game

Verdict = Literal["certain", "stallable", "out-of-reach"]


@dataclass(frozen=True, slots=True)
class Unreachable:
    """An end that cannot come: which (None: there is never a target), and why, in numbers."""

    code: str
    end: End | None
    needed: int = 0
    present: int = 0


@dataclass(frozen=True, slots=True)
class Ending:
    """The reasoned end at one number of players. ``moves``: those that put it off."""

    players: int
    verdict: Verdict
    moves: tuple[str, ...]
    unreachable: tuple[Unreachable, ...]
    sentence: str


def ending(game: Game) -> tuple[Ending, ...]:
    """Reason about the end for every number of players of the rules."""
    return tuple(_ending(game, players) for players in game.rules.table_sizes)


def _ending(game: Game, players: int) -> Ending:
    unreachable = tuple(_unreachable(game, players))
    moves = stalling_moves(game, players)
    verdict: Verdict = "out-of-reach" if unreachable else "stallable" if moves else "certain"
    if verdict == "out-of-reach":
        sentence = " ".join(_why(reason) for reason in unreachable)
    else:
        named = words.say("game.list.and").join(words.say(f"game.move.{move}") for move in moves)
        sentence = words.say(f"game.ending.{verdict}", moves=named)
    return Ending(players, verdict, moves, unreachable, sentence)


def stalling_moves(game: Game, players: int) -> tuple[str, ...]:
    """Give the moves by which a player may put the end off without bound."""
    rules = game.rules
    if any(end.kind == "rounds" for end in rules.end.at(players)):
        return ()
    moves = []
    if "lift" in rules.draws:
        moves.append("lift")
    if "swap" in rules.draws and rules.swapped_go == "under":
        moves.append("swap")
    return tuple(moves)


def _unreachable(game: Game, players: int) -> list[Unreachable]:
    rules = game.rules
    found = []
    minimum = max(1, rules.claim_minimum)
    if rules.open_targets.at(players) == 0 and rules.secret_targets == 0:
        found.append(Unreachable("no-target", None))
    for end in rules.end.at(players):
        if end.kind == "claims" and end.amount > game.target_cards:
            found.append(Unreachable("claims-targets", end, end.amount, game.target_cards))
        elif end.kind == "claims" and end.amount * minimum > game.part_cards:
            needed = end.amount * minimum
            found.append(Unreachable("claims-parts", end, needed, game.part_cards))
        elif end.kind == "points" and end.amount > best_sum(game):
            found.append(Unreachable("points", end, end.amount, best_sum(game)))
        elif end.kind == "stock-empty" and not _stock_shrinks(game, players):
            found.append(Unreachable("stock-empty", end))
        elif end.kind == "all-passed" and rules.may_pass == "never":
            found.append(Unreachable("all-passed", end))
    return found


def _stock_shrinks(game: Game, players: int) -> bool:
    rules = game.rules
    return (
        rules.refill
        or "stock" in rules.draws
        or ("display" in rules.draws and rules.display.at(players) > 0)
        or ("swap" in rules.draws and rules.swapped_go == "pile")
        or any(
            effect.name == "draw"
            for id in set(game.bonus_of.values())
            for effect in game.bonus(id).effects
        )
    )


def best_sum(game: Game) -> int:
    """Give a bound that no player's points can pass: the best claims that part cards allow.

    Every claim takes at least ``claim_minimum`` part cards (one where a bonus shortens
    claims), pays its best rung and earns its bonus; every lasting bonus pays for each claim.
    """
    bonuses = {card: game.bonus(id).effects for card, id in game.bonus_of.items()}
    everything = [effect for effects in bonuses.values() for effect in effects]
    shorter = any(effect.name == "short-claim" for effect in everything)
    cards_each = 1 if shorter else max(1, game.rules.claim_minimum)
    copies = sum(game.target_copies.values())
    on_parts = game.bonus_settings.printed_on != "target"
    best_once = max((_once(effects) for effects in bonuses.values()), default=0)
    claims = []
    for target, number in game.target_copies.items():
        kind = game.anatomy.target(target).kind
        once = best_once if on_parts else _once(bonuses.get(target, ()))
        # A lasting bonus may be earned with every card that it is printed on.
        lasting = sum(
            effect.amount * (copies if on_parts else game.target_copies.get(card, 0))
            for card, effects in bonuses.items()
            for effect in effects
            if effect.name == "points" and effect.kind == kind
        )
        claims += [max(game.points_of[target]) + once + lasting] * number
    claims.sort(reverse=True)
    return sum(claims[: game.part_cards // cards_each])


def _once(effects: tuple[Effect, ...]) -> int:
    return sum(effect.amount for effect in effects if effect.name == "points" and not effect.kind)


def _why(reason: Unreachable) -> str:
    return words.say(
        f"game.out-of-reach.{reason.code}",
        end=str(reason.end),
        needed=reason.needed,
        present=reason.present,
    )


def ending_faults(game: Game) -> list[Fault]:
    """Make an error of every end out of reach and a warning of a game that can be stalled."""
    faults = []
    for found in ending(game):
        for reason in found.unreachable:
            key = "rules.end" if reason.end else "rules.open_targets"
            faults.append(
                error(
                    "end-out-of-reach",
                    key_place(key),
                    value=str(reason.end) if reason.end else None,
                    why=_why(reason),
                )
            )
        if found.moves and not found.unreachable:
            named = words.say("game.list.and").join(
                words.say(f"game.move.{move}") for move in found.moves
            )
            faults.append(warning("end-stallable", key_place("rules.draws"), moves=named))
    return faults
