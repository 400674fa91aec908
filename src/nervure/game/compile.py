"""`compile_game`: from a game and a number of seats to the `Tables` that the kernel plays.

The strand tables depend on map, tiers and the rules of strands only, and are shared by all
games that agree in these. Everything else is small and made anew.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping

import numpy as np

from nervure import words
from nervure.errors import BadUsage, FaultyProject, NotPlayedYet
from nervure.game.bonuses import Effect
from nervure.game.capabilities import NOT_PLAYED, used
from nervure.game.deck import PRINTED_ON_TARGET, VARIANT, WILD_ANY
from nervure.game.fact_tables import PrintRules, fact_tables
from nervure.game.model import Game
from nervure.game.rules import TARGET_TIE_BREAK, EndKind
from nervure.game.salts import salt
from nervure.game.strand_tables import DeckWay, StrandDesign, strand_tables
from nervure.game.tables import (
    BONUS_PART_SIZE,
    MOST_SEATS,
    MOST_TIE_BREAKS,
    POINTS_COLUMNS,
    Does,
    Draw,
    FactTables,
    IntArray,
    LongArray,
    MaskArray,
    MayPass,
    Rule,
    StrandTables,
    Tables,
    TieBreak,
    When,
)
from nervure.project.records import TARGET_KINDS

DRAWS: Mapping[str, Draw] = {
    "stock": Draw.STOCK,
    "display": Draw.DISPLAY,
    "swap": Draw.SWAP,
    "take-loose": Draw.TAKE_LOOSE,
    "lift": Draw.LIFT,
}
MAY_PASS: Mapping[str, MayPass] = {
    "never": MayPass.NEVER,
    "stock-empty": MayPass.STOCK_EMPTY,
    "always": MayPass.ALWAYS,
}
TIE_BREAKS: Mapping[str, TieBreak] = {
    "full-strands": TieBreak.FULL_STRANDS,
    "fewest-cards": TieBreak.FEWEST_CARDS,
    "claims": TieBreak.CLAIMS,
    "last-seat": TieBreak.LAST_SEAT,
}
ENDS: Mapping[EndKind, Rule] = {
    "claims": Rule.END_CLAIMS,
    "points": Rule.END_POINTS,
    "rounds": Rule.END_ROUNDS,
    "stock-empty": Rule.END_STOCK,
    "clock": Rule.END_TURNS,
    "all-passed": Rule.END_PASSED,
}
WHENS: Mapping[str, When] = {
    "one-time": When.ONE_TIME,
    "lasting": When.LASTING,
    "reply": When.REPLY,
}
DOES: Mapping[str, Does] = {
    "draw": Does.DRAW,
    "play": Does.PLAY,
    "exchange-open": Does.EXCHANGE_OPEN,
    "take-any-loose": Does.TAKE_ANY_LOOSE,
    "move-end": Does.MOVE_END,
    "points": Does.POINTS,
    "guard-loose": Does.GUARD_LOOSE,
    "hand": Does.HAND,
    "short-claim": Does.SHORT_CLAIM,
    "cancel-take": Does.CANCEL_TAKE,
}


def compile_game(game: Game, seats: int) -> Tables:
    """Make the tables of a game at a number of seats.

    Raises
    ------
    FaultyProject
        The game has error faults.
    NotPlayedYet
        It uses a rule that the engine does not play.
    BadUsage
        ``seats`` is not 1 to 6.
    """
    if not game.ok:
        raise FaultyProject(fault for fault in game.faults if fault.level == "error")
    if not 1 <= seats <= MOST_SEATS:
        raise BadUsage(words.say("engine.seats", seats=seats, most=MOST_SEATS))
    missing = [name for name in used(game) if name in NOT_PLAYED and name != "knowledge"]
    if missing:
        what = ", ".join(words.say(f"game.capability.{name}") for name in missing)
        raise NotPlayedYet(words.say("engine.not-played", what=what))
    part_cards = _cards((name, game.copies[name]) for name in game.hand_kinds)
    target_cards = _cards((name, game.target_copies[name]) for name in game.targets)
    strands = strand_tables(strand_design(game))
    return Tables(
        rules=_rules_vector(game, seats),
        strands=strands,
        facts=_facts(game, strands),
        points=_points(game),
        card_kinds=part_cards[0],
        card_salts=part_cards[1],
        target_cards=target_cards[0],
        target_salts=target_cards[1],
        target_kind=np.array(
            [TARGET_KINDS.index(game.anatomy.target(name).kind) for name in game.targets],
            dtype=np.int32,
        ),
        bonuses=_bonuses(game),
        card_bonus=_card_bonus(game),
        hand_kinds=game.hand_kinds,
        placed_kinds=game.placed_kinds,
        targets=game.targets,
        tiers=game.tiers,
        target_kinds=TARGET_KINDS,
        bonus_ids=tuple(bonus.id for bonus in game.bonuses),
        version=game.version,
    )


def strand_design(game: Game) -> StrandDesign:
    """Give all that a game's strands depend on, in numbers."""
    strands, rules = game.strands, game.rules
    number = {name: place for place, name in enumerate(game.structures)}
    target_number = {name: place for place, name in enumerate(game.targets)}
    linked = () if rules.skip_tiers else strands.derived_links
    neighbours = strands.neighbours if rules.connect == "neighbours" else ()
    return StrandDesign(
        sizes=tuple(len(strands.on_tier[tier]) for tier in game.tiers),
        targets=len(game.targets),
        ways=tuple(
            dict.fromkeys(
                DeckWay(
                    target_number.get(way.target, -1),
                    way.main,
                    tuple(number[name] for name in way.structures),
                )
                for way in strands.ways
            )
        ),
        origins=frozenset(number[name] for name in strands.origins if name in number),
        wild_tiers=tuple(
            place for place, tier in enumerate(game.tiers) if f"wild:{tier}" in game.hand_kinds
        ),
        wild_any=WILD_ANY in game.hand_kinds,
        connect=rules.connect,
        skip_tiers=rules.skip_tiers,
        insert=rules.insert,
        supply=rules.supply,
        claim_needs=rules.claim_needs,
        claim_minimum=rules.claim_minimum,
        claim_real=rules.claim_real,
        full_strand=rules.full_strand,
        linked=frozenset((number[a], number[b]) for a, b in linked),
        neighbours=frozenset((number[a], number[b]) for a, b in neighbours),
    )


def _facts(game: Game, strands: StrandTables) -> FactTables:
    rules = game.rules
    return fact_tables(
        strands,
        game.structures,
        game.targets,
        carded=tuple(name in game.carded for name in game.structures),
        shortest=max(1, rules.claim_minimum, rules.claim_real),
        prints=PrintRules(
            parts_show=rules.parts_show,
            targets_show=rules.targets_show,
            lists_are_exact=rules.connect == "true" and rules.skip_tiers,
            needs_last="last" in rules.claim_needs,
            origins=tuple(name in game.strands.origins for name in game.structures),
            ways=tuple(
                tuple(name in game.strands.last_of[target] for target in game.targets)
                for name in game.structures
            ),
        ),
    )


def _cards(copies: Iterable[tuple[str, int]]) -> tuple[IntArray, MaskArray]:
    kinds, salts = [], []
    for kind, (name, number) in enumerate(copies):
        for copy in range(1, number + 1):
            kinds.append(kind)
            salts.append(salt(f"{name}#{copy}"))
    return np.array(kinds, dtype=np.int32), np.array(salts, dtype=np.uint64)


def _points(game: Game) -> IntArray:
    table = np.zeros((len(game.targets), POINTS_COLUMNS), dtype=np.int32)
    for row, target in enumerate(game.targets):
        for cards in range(1, POINTS_COLUMNS):
            table[row, cards] = game.points_for(target, cards)
    return table


def _rules_vector(game: Game, seats: int) -> LongArray:
    rules = game.rules
    structures, placed = len(game.structures), len(game.placed_kinds)
    has_any = WILD_ANY in game.hand_kinds
    values = {
        Rule.SEATS: seats,
        Rule.TIERS: len(game.tiers),
        Rule.STRUCTURES: structures,
        Rule.HAND_KINDS: len(game.hand_kinds),
        Rule.PLACED_KINDS: placed,
        Rule.TARGETS: len(game.targets),
        Rule.PART_CARDS: game.part_cards,
        Rule.TARGET_CARDS: sum(game.target_copies[name] for name in game.targets),
        Rule.ANY_HAND_KIND: game.hand_kinds.index(WILD_ANY) if has_any else -1,
        Rule.FIRST_ANY_KIND: placed - len(game.tiers) if has_any else placed,
        Rule.VARIANT_KIND: len(game.hand_kinds) - 1 if VARIANT in game.hand_kinds else -1,
        Rule.HAND: rules.hand.at(seats),
        Rule.DISPLAY: rules.display.at(seats),
        Rule.OPEN_TARGETS: rules.open_targets.at(seats),
        Rule.SECRET_TARGETS: rules.secret_targets,
        Rule.DRAWS: sum(DRAWS[name] for name in rules.draws),
        Rule.DRAW_COUNT: rules.draw_count,
        Rule.PLAY_COUNT: rules.play_count,
        Rule.MUST_PLAY: rules.must_play,
        Rule.INSERT: rules.insert,
        Rule.CLAIM_MINIMUM: rules.claim_minimum,
        Rule.JOIN_IS_PLAY: rules.join == "instead-of-play",
        Rule.CLAIM_IS_PLAY: rules.claim == "instead-of-play",
        Rule.REFILL: rules.refill,
        Rule.SWAP_UNDER: rules.swapped_go == "under",
        Rule.MAY_PASS: MAY_PASS[rules.may_pass],
        Rule.LATE_LIFTS: rules.late_lifts,
        Rule.BONUSES: len(game.bonuses),
        Rule.BONUS_TIER: _bonus_tier(game),
        Rule.CLAIM_REAL: rules.claim_real,
    }
    vector = np.zeros(Rule.SIZE, dtype=np.int64)
    for rule, value in values.items():
        vector[rule] = value
    for seat, cards in enumerate(rules.seat_cards[:seats]):
        vector[Rule.SEAT_CARDS + seat] = cards
    for end in rules.end.at(seats):
        vector[ENDS[end.kind]] = max(1, end.amount)
        if end.kind == "clock":
            turns = math.ceil(end.amount * 60 / game.goals.seconds_per_turn)
            vector[Rule.END_TURNS] = max(1, turns)
    for place, text in enumerate(rules.tie_breaks[:MOST_TIE_BREAKS]):
        if text in TIE_BREAKS:
            vector[Rule.TIE_BREAKS + place] = TIE_BREAKS[text]
        elif (name := text.removeprefix(TARGET_TIE_BREAK)) in game.targets:
            vector[Rule.TIE_BREAKS + place] = TieBreak.TARGET + game.targets.index(name)
    return vector


def _bonus_tier(game: Game) -> int:
    printed_on = game.bonus_settings.printed_on
    if printed_on == PRINTED_ON_TARGET or printed_on not in game.tiers:
        return -1
    return game.tiers.index(printed_on)


def _bonuses(game: Game) -> IntArray:
    parts = max((len(bonus.effects) for bonus in game.bonuses), default=0)
    table = np.zeros((len(game.bonuses), 1 + BONUS_PART_SIZE * parts), dtype=np.int32)
    for row, bonus in enumerate(game.bonuses):
        table[row, 0] = WHENS[bonus.when]
        for place, effect in enumerate(bonus.effects):
            at = 1 + BONUS_PART_SIZE * place
            table[row, at : at + BONUS_PART_SIZE] = _part(effect)
    return table


def _part(effect: Effect) -> tuple[int, int, int]:
    if effect.kind:
        return Does.POINTS_KIND, effect.amount, TARGET_KINDS.index(effect.kind)
    return DOES[effect.name], effect.amount, 0


def _card_bonus(game: Game) -> IntArray:
    number = {bonus.id: place for place, bonus in enumerate(game.bonuses)}
    cards = game.targets if _bonus_tier(game) < 0 else game.placed_kinds
    return np.array(
        [number.get(game.bonus_of.get(card, ""), -1) for card in cards], dtype=np.int32
    )
