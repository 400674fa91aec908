"""`read_game`: from the folder's records to a `Game`, with all faults collected."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from types import MappingProxyType
from typing import Any

from nervure.anatomy import Anatomy, build, map_faults
from nervure.errors import Fault, error, sort_faults, warning
from nervure.game._door import GAME_FILE, key_place, through_door, unknown_name
from nervure.game.bonuses import Bonus, Bonuses, read_bonuses
from nervure.game.capabilities import not_played_faults
from nervure.game.counts import claiming_strands, joined_strands
from nervure.game.deck import (
    MOST_KINDS,
    MOST_PART_CARDS,
    MOST_TARGETS,
    MOST_TIERS,
    PRINTED_ON_TARGET,
    WILD_ANY,
    Cards,
    Limit,
    Listed,
    limit_faults,
    read_deck,
)
from nervure.game.ending import ending_faults
from nervure.game.goals import Goals, read_goals
from nervure.game.look import Look
from nervure.game.model import Game, kinds_in_deck, odds_cards, part_supply
from nervure.game.objectives import Objective, read_objectives
from nervure.game.odds import fair_points, odds_of
from nervure.game.rules import TARGET_TIE_BREAK, Points, Rules
from nervure.game.strands import Strand, StrandRules
from nervure.game.tuning import read_tune
from nervure.project.records import TARGET_KINDS, Folder
from nervure.project.translations import translated


@dataclass(frozen=True, slots=True)
class _Tables:
    """The tables of game.toml that need no deck to be read."""

    rules: Rules
    points: Points
    bonuses: tuple[Bonus, ...]
    bonus_settings: Bonuses
    goals: Goals
    look: Look
    objectives: tuple[Objective, ...]


def read_game(folder: Folder, variants: Iterable[str] | None = None) -> Game:
    """Give the game of a folder; never raises for faulty input.

    ``variants``: variants of the map to take in; None takes those that game.toml names.
    Every fault of folder, map and game is in `Game.faults`. With error faults the game is
    what can be made of the rest, good enough to be shown, not to be played.
    """
    chosen = folder.variants if variants is None else tuple(variants)
    anatomy = build(folder.map, chosen)
    faults: list[Fault] = []
    tables = _read_tables(folder, faults)
    rules = tables.rules
    tiers = _deck_tiers(rules, anatomy, faults)
    chosen_targets = _chosen_targets(rules, anatomy, faults)
    faults += _bad_names(rules, tables.bonus_settings, tiers, anatomy)
    strands = StrandRules(anatomy, rules, tiers, chosen_targets)
    cards = _cards(strands, anatomy)
    printed_on = tables.bonus_settings.printed_on
    bonus_cards = (
        chosen_targets if printed_on == PRINTED_ON_TARGET else strands.on_tier.get(printed_on, ())
    )
    listed, found = read_deck(folder.deck, cards, tables.bonuses, bonus_cards)
    faults += found
    tune, found = read_tune(folder.settings.get("tune", {}), cards.all, tiers)
    faults += found

    hand_kinds, placed_kinds = kinds_in_deck(cards, tiers, listed.copies)
    copies = {kind: listed.copies[kind] for kind in hand_kinds}
    wanted = [name for name in chosen_targets if listed.copies[name]]
    over = _past_limits(hand_kinds, placed_kinds, wanted, tiers, copies)
    faults += over
    # Past the limits nothing is enumerated: the counts could be beyond any patience.
    claiming: Mapping[str, frozenset[Strand]] = dict.fromkeys(chosen_targets, frozenset())
    if not over:
        claiming = claiming_strands(strands, joined_strands(strands))
    unclaimable = () if over else tuple(name for name in wanted if not claiming[name])
    targets = tuple(name for name in wanted if name not in unclaimable)
    target_copies = {name: listed.copies[name] for name in targets}
    points_of = _points(strands, claiming, targets, copies, tables.points, listed)
    bonus_of = {card: id for card, id in listed.bonus_of.items() if card not in unclaimable}
    design = {
        "map": _map_design(anatomy),
        "rules": rules.model_dump(mode="json"),
        "tiers": tiers,
        "copies": copies,
        "targets": target_copies,
        "points": points_of,
        "bonuses": [bonus.model_dump(mode="json") for bonus in tables.bonuses],
        "printed_on": printed_on,
        "bonus_of": bonus_of,
    }
    game = Game(
        folder=folder,
        anatomy=anatomy,
        rules=rules,
        points=tables.points,
        bonus_settings=tables.bonus_settings,
        bonuses=tables.bonuses,
        goals=tables.goals,
        look=tables.look,
        objectives=tables.objectives,
        tune=tune,
        tiers=tiers,
        structures=cards.structures,
        targets=targets,
        hand_kinds=hand_kinds,
        placed_kinds=placed_kinds,
        copies=MappingProxyType(copies),
        target_copies=MappingProxyType(target_copies),
        points_of=MappingProxyType(points_of),
        listed_points=MappingProxyType(dict(listed.points)),
        bonus_of=MappingProxyType(bonus_of),
        unclaimable=unclaimable,
        words=MappingProxyType(dict(folder.words)),
        title=folder.title,
        version=_digest(design),
        faults=(),
    )
    faults += _consequences(game, bool(over), faults)
    told = {fault.place for fault in folder.faults if fault.place.file == GAME_FILE}
    faults = [fault for fault in faults if fault.place not in told]
    map_found = map_faults(folder.map, chosen)
    return replace(game, faults=sort_faults([*folder.faults, *map_found, *faults]))


def translated_game(game: Game, language: str) -> Game:
    """Give a game with the names and sentences of another language; it stays the same design.

    Raises
    ------
    UnknownName
        There is no such language (`nervure.project.languages_of`).
    """
    if language == game.folder.language and language not in game.folder.translations:
        return game
    found = read_game(translated(game.folder, language), game.anatomy.variants)
    return replace(found, version=game.version)


def _read_tables(folder: Folder, faults: list[Fault]) -> _Tables:
    settings = folder.settings
    rules, found = through_door(Rules, settings.get("rules", {}), "rules")
    faults += found
    points, found = through_door(Points, settings.get("points", {}), "points")
    faults += found
    bonuses, found = read_bonuses(settings.get("bonus", ()))
    faults += found
    bonus_settings, found = through_door(Bonuses, settings.get("bonuses", {}), "bonuses")
    faults += found
    goals, found = read_goals(settings.get("goals", {}), rules.table_sizes)
    faults += found
    look, found = through_door(Look, settings.get("look", {}), "look")
    faults += found
    objectives, found = read_objectives(
        settings.get("objectives", ()),
        [target.id for target in folder.map.targets],
        [structure.id for structure in folder.map.structures],
    )
    faults += found
    return _Tables(rules, points, bonuses, bonus_settings, goals, look, objectives)


def _past_limits(
    hand_kinds: Sequence[str],
    placed_kinds: Sequence[str],
    targets: Sequence[str],
    tiers: Sequence[str],
    copies: Mapping[str, int],
) -> list[Fault]:
    return limit_faults(
        [
            Limit("hand-kinds", len(hand_kinds), MOST_KINDS),
            Limit("placed-kinds", len(placed_kinds), MOST_KINDS),
            Limit("targets", len(targets), MOST_TARGETS),
            Limit("tiers", len(tiers), MOST_TIERS),
            Limit("part-cards", sum(copies.values()), MOST_PART_CARDS),
        ]
    )


def _consequences(game: Game, is_past_limits: bool, so_far: Sequence[Fault]) -> list[Fault]:
    """Give the faults of the game as a whole, without those that a fault so far explains."""
    faults = [
        warning(
            "target-unclaimable",
            game.anatomy.target(name).place.at("target"),
            value=name,
            minimum=game.rules.claim_minimum,
        )
        for name in game.unclaimable
    ]
    faults += not_played_faults(game)
    if game.targets:
        faults += _too_few_cards(game.rules, game.part_cards, game.target_cards)
        faults += ending_faults(game)
    elif not is_past_limits:
        faults.append(error("no-targets", key_place("rules.targets")))
    # A key that does not fit has its default, which is not what its author wrote.
    told = {fault.place for fault in so_far if fault.level == "error"}
    return [fault for fault in faults if fault.place not in told]


def _deck_tiers(rules: Rules, anatomy: Anatomy, faults: list[Fault]) -> tuple[str, ...]:
    """Give the deck's tiers in the map's order, in whatever order they were named."""
    known = tuple(tier.id for tier in anatomy.map.tiers)
    faults += [
        unknown_name("rules.tiers", name, "tier", known)
        for name in rules.tiers
        if name not in known
    ]
    named = tuple(tier for tier in known if tier in rules.tiers)
    return named or known


def _chosen_targets(rules: Rules, anatomy: Anatomy, faults: list[Fault]) -> tuple[str, ...]:
    ids = [target.id for target in anatomy.map.targets]
    faults += [
        unknown_name("rules.targets", name, "target-or-kind", (*TARGET_KINDS, *ids))
        for name in rules.targets
        if name not in ids and name not in TARGET_KINDS
    ]
    return tuple(
        target.id
        for target in anatomy.map.targets
        if target.id in rules.targets or target.kind in rules.targets
    )


def _bad_names(
    rules: Rules, bonus_settings: Bonuses, tiers: Sequence[str], anatomy: Anatomy
) -> list[Fault]:
    faults = []
    targets = [target.id for target in anatomy.map.targets]
    for text in rules.tie_breaks:
        name = text.removeprefix(TARGET_TIE_BREAK)
        if text.startswith(TARGET_TIE_BREAK) and name not in targets:
            faults.append(unknown_name("rules.tie_breaks", name, "target", targets))
    printed_on = bonus_settings.printed_on
    if printed_on != PRINTED_ON_TARGET and printed_on not in tiers:
        known = (PRINTED_ON_TARGET, *tiers)
        faults.append(unknown_name("bonuses.printed_on", printed_on, "tier", known))
    first = anatomy.map.tiers[0].id if anatomy.map.tiers else ""
    if "origin" in rules.claim_needs and first not in tiers:
        faults.append(error("origins-left-out", key_place("rules.claim_needs"), value=first))
    return faults


def _cards(strands: StrandRules, anatomy: Anatomy) -> Cards:
    structures = tuple(strands.tier_index)
    everything = {row.id for row in anatomy.map.structures}
    everything |= {target.id for target in anatomy.map.targets}
    wilds = (*(f"wild:{tier}" for tier in strands.tiers), WILD_ANY)
    left_tiers = {f"wild:{tier.id}" for tier in anatomy.map.tiers} - set(wilds)
    left_out = (everything | left_tiers) - {*structures, *strands.targets}
    return Cards(structures, strands.targets, wilds, frozenset(left_out))


def _points(
    strands: StrandRules,
    claiming: Mapping[str, frozenset[Strand]],
    targets: Sequence[str],
    copies: Mapping[str, int],
    points: Points,
    listed: Listed,
) -> dict[str, tuple[int, ...]]:
    """Give every target's ladder: listed, or by difficulty among all targets of the game."""
    shortest = max(1, strands.rules.claim_minimum)
    rungs = {
        name: range(shortest, max(map(len, claiming[name]), default=shortest) + 1)
        for name in targets
    }
    by_list = {
        name: tuple(ladder[min(rung, len(ladder) - 1)] for rung in range(len(rungs[name])))
        for name, ladder in listed.points.items()
        if name in rungs
    }
    if points.method == "listed" and len(by_list) == len(targets):
        return {name: by_list[name] for name in targets}
    supply = part_supply(copies, strands)
    odds = {name: odds_of(claiming[name], supply) for name in targets}
    n = odds_cards(strands.rules, supply.cards)
    fair = fair_points(odds, n, points.range, rungs)
    if points.method == "difficulty":
        return fair
    return {name: by_list.get(name, fair[name]) for name in targets}


def _too_few_cards(rules: Rules, part_cards: int, target_cards: int) -> list[Fault]:
    faults = []
    for players in rules.table_sizes:
        parts = sum(rules.cards_for_seat(seat, players) for seat in range(players))
        parts += rules.display.at(players)
        targets = rules.open_targets.at(players) + players * rules.secret_targets
        for code, needed, present in (
            ("too-few-parts", parts, part_cards),
            ("too-few-targets", targets, target_cards),
        ):
            if needed > present:
                place = key_place("rules.players")
                faults.append(
                    error(code, place, value=str(players), needed=needed, present=present)
                )
    return faults


def _map_design(anatomy: Anatomy) -> list[Any]:
    return [
        [[row.id, row.tier, row.name, row.short] for row in anatomy.map.structures],
        [[target.id, target.name, target.kind] for target in anatomy.map.targets],
        [[way.target, way.structures, way.main] for way in anatomy.all_pathways],
        [[link.start, link.end, sorted(anatomy.carried(link))] for link in anatomy.links],
    ]


def _digest(design: Mapping[str, Any]) -> str:
    text = json.dumps(design, sort_keys=True, ensure_ascii=False, separators=(",", ":"))
    return hashlib.sha256(text.encode("utf-8")).hexdigest()[:8]
