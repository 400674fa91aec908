"""The end of a game, reasoned from its rules, for every number of players.

docs/rules.md, "The end, reasoned". *out-of-reach*: an end that no game can come to, an error.
*stallable*: players may put the end off for as long as they like, a warning that names the
moves; not where rounds or the clock end the game, since these pass by themselves. Else
*certain*.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

from nervure import words
from nervure.errors import Fault, error, warning
from nervure.game._door import key_place
from nervure.game.bonuses import Effect
from nervure.game.deck import VARIANT
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
    """Give the moves by which the end may be put off without bound.

    What no move brings back is the stock, a card on the table save by lift, and a card in
    hand save by play: a game goes on for ever only if some turn leaves all three as they
    were. A swap does, if swapped cards go under the stock and the play may be left out. A
    lift and a lay do, unless a turn has more draws than plays, so that some draw must come
    from the stock, or more plays than draws, all to be made, so that the hand is refilled.
    A variant card in hand need not be played, and a lift undoes a join in place of a play.
    Small decks are searched through by tests/game/test_ending.py.
    """
    rules = game.rules
    if _passes_by_itself(game, players):
        return ()
    keeps_unplayed = not rules.must_play or VARIANT in game.hand_kinds
    swap_is_even = "swap" in rules.draws and rules.swapped_go == "under"
    from_stock = (
        "stock" in rules.draws
        or ("swap" in rules.draws and rules.swapped_go == "pile")
        or ("display" in rules.draws and rules.display.at(players) > 0)
    )
    # A take is a play, after which the draws that are left need not be made.
    cuts_draws = "take-loose" in rules.draws and rules.play_count > 1 and players > 1
    more_draws = (
        rules.draw_count > rules.play_count and from_stock and not swap_is_even and not cuts_draws
    )
    more_plays = (
        rules.play_count > rules.draw_count
        and rules.refill
        and rules.join == "any-time"
        and not keeps_unplayed
    )
    moves = []
    if "lift" in rules.draws and not more_draws and not more_plays:
        moves.append("lift")
    if swap_is_even and (keeps_unplayed or moves):
        moves.append("swap")
    return tuple(moves)


def _passes_by_itself(game: Game, players: int) -> bool:
    """Tell whether rounds or the clock end the game before the engine's safety bound."""
    for end in game.rules.end.at(players):
        turns = end.amount
        if end.kind == "clock":
            turns = math.ceil(end.amount * 60 / game.goals.seconds_per_turn)
        rounds = math.ceil(turns / players) if end.kind == "clock" else turns
        if end.kind in ("rounds", "clock") and rounds * players <= safety_bound(game):
            return True
    return False


def safety_bound(game: Game) -> int:
    """Give the turn at which the engine cuts a game short, unfinished."""
    return 4 * game.part_cards + 100


def _unreachable(game: Game, players: int) -> list[Unreachable]:
    rules = game.rules
    found = []
    minimum = _fewest_cards(game)
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
        elif end.kind == "stock-empty" and not _stock_runs_out(game, players):
            found.append(Unreachable("stock-empty", end))
        elif end.kind == "all-passed" and rules.may_pass == "never":
            found.append(Unreachable("all-passed", end))
        elif end.kind == "all-passed" and rules.may_pass == "stock-empty":
            if not _stock_runs_out(game, players):
                found.append(Unreachable("all-passed-stock", end))
    return found


def _fewest_cards(game: Game) -> int:
    """Give the fewest cards of a claim: one where a bonus may shorten claims."""
    effects = [effect for id in game.bonus_of.values() for effect in game.bonus(id).effects]
    shorter = any(effect.name == "short-claim" for effect in effects)
    return 1 if shorter else max(1, game.rules.claim_minimum)


def _stock_runs_out(game: Game, players: int) -> bool:
    """Tell whether cards can leave the stock, or all are dealt from the start."""
    rules = game.rules
    dealt = sum(rules.cards_for_seat(seat, players) for seat in range(players))
    if dealt + rules.display.at(players) >= game.part_cards:
        return True
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
    return sum(claims[: game.part_cards // _fewest_cards(game)])


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
