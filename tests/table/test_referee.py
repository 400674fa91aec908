"""The referee agrees with the engine on every move, and each reason that it gives is true.

Truth is worked out anew here from the pathways of the map (fibres by origin, as
docs/project-folder.md has them) and from how the table lies; nothing of the referee is used.
"""

from __future__ import annotations

import random
from collections.abc import Callable, Mapping
from itertools import pairwise, product
from typing import Any

import pytest

from nervure.engine import Move, MoveNumber, Position
from nervure.game import Game
from nervure.table import Explanation, Referee
from nervure.table.junctions import Reason

BUNDLED = ("giants-leg", "lock-keepers")
SMALL = (
    *("charters", "crowd", "insert", "jokers", "neighbours", "passers"),
    *("plain", "quiet", "secrets", "slow", "thieves", "toolbox"),
)


class Truth:
    """The map of a game as plain sets, and what is asked of them."""

    def __init__(self, game: Game) -> None:
        self.game = game
        self.origins = game.anatomy.origins
        self.ways = [
            (way.target, way.origin, frozenset(way.structures), way.main)
            for way in game.anatomy.all_pathways
        ]
        self.deck = set(game.structures)

    def carried(self, cards: Any, target: str | None = None, main: bool = False) -> set[str]:
        """Give the origins of pathways that hold all of some structures."""
        held = set(cards)
        return {
            origin
            for of, origin, structures, is_main in self.ways
            if held <= structures and target in (None, of) and (is_main or not main)
        }

    def chain(self, start: str, end: str) -> set[str]:
        """Give the origins that a chain of links carries from a structure to another."""
        found = set()
        for origin in self.origins:
            reached = {start}
            while True:
                more = {
                    link.end
                    for link in self.game.anatomy.links
                    if link.start in reached and origin in self.game.anatomy.carried(link)
                } - reached
                if not more:
                    break
                reached |= more
            if end in reached:
                found.add(origin)
        return found

    def readings(self, cards: tuple[str, ...]) -> Any:
        """Give every choice of structures that wild cards can stand for on some tier."""
        on_tier = self.game.strands.on_tier
        choices = []
        for card in cards:
            if not card.startswith("wild:"):
                choices.append((card,))
            else:
                tier = card.rsplit("@", 1)[-1] if "@" in card else card.removeprefix("wild:")
                choices.append(on_tier[tier])
        return product(*choices)

    def lasts(self, target: str) -> set[str]:
        """Give the last deck structures of a target's pathways."""
        found = set()
        for way in self.game.anatomy.pathways(target):
            on_deck = [name for name in way.structures if name in self.deck]
            found |= set(on_deck[-1:])
        return found

    def derived(self, start: str, end: str) -> bool:
        """Tell whether a chain of links runs between two over tiers that are left out."""
        ends = {start}
        while ends:
            following = {link.end for link in self.game.anatomy.links if link.start in ends}
            if end in following:
                return True
            ends = following - self.deck
        return False


def _no_shared(truth: Truth, ids: Mapping[str, Any]) -> bool:
    one, other = ids["one"], ids["other"]
    return (
        not truth.carried((*one, *other))
        and set(ids["through-one"]) == truth.carried(one)
        and set(ids["through-other"]) == truth.carried(other)
        and truth.carried(one).isdisjoint(truth.carried(other))
    )


def _part(truth: Truth, ids: Mapping[str, Any]) -> bool:
    one, other = ids["one"], ids["other"]
    shared = truth.carried(one) & truth.carried(other)
    return not truth.carried((*one, *other)) and bool(shared) and set(ids["shared"]) == shared


def _three(truth: Truth, ids: Mapping[str, Any]) -> bool:
    cards = ids["cards"]
    enters, goes_on = truth.carried(cards[:-1]), truth.carried(cards[1:])
    return (
        len(cards) > 2
        and not truth.carried(cards)
        and bool(enters)
        and bool(goes_on)
        and (set(ids["enters"]), set(ids["goes-on"])) == (enters, goes_on)
    )


def _no_reading(truth: Truth, ids: Mapping[str, Any]) -> bool:
    cards = ids["cards"]
    if not any(card.startswith("wild:") for card in cards):
        return False
    return not any(_joins(truth, reading) for reading in truth.readings(cards))


def _joins(truth: Truth, reading: tuple[str, ...]) -> bool:
    rules = truth.game.rules
    pairs = list(pairwise(reading))
    if not rules.skip_tiers and not all(truth.derived(*pair) for pair in pairs):
        return False
    if rules.connect == "true":
        return bool(truth.carried(reading))
    return all(truth.chain(*pair) for pair in pairs)


def _claims(truth: Truth, reading: tuple[str, ...], target: str) -> bool:
    rules = truth.game.rules
    if rules.supply == "last-card":
        supplies = bool(truth.carried(reading[-1:], target))
    else:
        supplies = bool(truth.carried(reading, target, main=rules.supply == "main"))
    needs = rules.claim_needs
    return (
        supplies
        and ("last" not in needs or bool(truth.lasts(target) & set(reading)))
        and ("origin" not in needs or reading[0] in truth.origins)
    )


def _not_of_target(truth: Truth, ids: Mapping[str, Any]) -> bool:
    target = ids["target"][0]
    return (
        len(ids["one"]) == 1
        and not truth.carried(ids["one"], target)
        and set(ids["through"]) == truth.carried(ids["one"])
        and set(ids["fibres"]) == truth.carried((), target)
        and set(ids["lasts"]) == truth.lasts(target)
    )


def _parts(truth: Truth, ids: Mapping[str, Any]) -> bool:
    target, parts = ids["target"][0], ids["parts"]
    return (
        len(parts) > 1
        and not truth.carried(parts, target)
        and all(truth.carried((part,), target) for part in parts)
    )


def _not_main(truth: Truth, ids: Mapping[str, Any]) -> bool:
    target = ids["target"][0]
    real = [card for card in ids["cards"] if not card.startswith("wild:")]
    return (
        truth.game.rules.supply == "main"
        and set(ids["mains"]) == truth.carried((), target, main=True)
        and set(ids["here"]) == truth.carried(real, target)
        and not any(truth.carried(r, target, main=True) for r in truth.readings(ids["cards"]))
        and any(truth.carried(r, target) for r in truth.readings(ids["cards"]))
    )


def _last_missing(truth: Truth, ids: Mapping[str, Any]) -> bool:
    lasts = truth.lasts(ids["target"][0])
    return (
        "last" in truth.game.rules.claim_needs
        and set(ids["lasts"]) == lasts
        and lasts.isdisjoint(ids["cards"])
    )


def _last_of_others(truth: Truth, ids: Mapping[str, Any]) -> bool:
    return truth.game.rules.supply == "last-card" and not truth.carried(
        ids["last"], ids["target"][0]
    )


def _no_reading_claims(truth: Truth, ids: Mapping[str, Any]) -> bool:
    target = ids["target"][0]
    return any(card.startswith("wild:") for card in ids["cards"]) and not any(
        _joins(truth, reading) and _claims(truth, reading, target)
        for reading in truth.readings(ids["cards"])
    )


def _no_way(truth: Truth, ids: Mapping[str, Any]) -> bool:
    return truth.game.rules.connect == "neighbours" and not truth.chain(*ids["one"], *ids["other"])


def _not_linked(truth: Truth, ids: Mapping[str, Any]) -> bool:
    return not truth.game.rules.skip_tiers and not truth.derived(*ids["one"], *ids["other"])


OF_FACTS: dict[str, Callable[[Truth, Mapping[str, Any]], bool]] = {
    "on-no-pathway": lambda truth, ids: not truth.carried(ids["cards"]),
    "no-shared-fibre": _no_shared,
    "fibres-part": _part,
    "does-not-go-on": lambda truth, ids: (
        _three(truth, ids) and set(ids["enters"]).isdisjoint(ids["goes-on"])
    ),
    "not-all-at-once": lambda truth, ids: (
        _three(truth, ids) and not set(ids["enters"]).isdisjoint(ids["goes-on"])
    ),
    "no-way-between": _no_way,
    "not-linked": _not_linked,
    "no-reading": _no_reading,
    "not-of-target": _not_of_target,
    "not-one-pathway-of-target": _parts,
    "not-main": _not_main,
    "last-missing": _last_missing,
    "last-not-of-target": _last_of_others,
    "no-reading-claims": _no_reading_claims,
}


def _is_true(truth: Truth, why: Explanation, cards: set[str], target: str | None) -> bool:
    """Tell whether a refusal of facts is true and speaks of these cards and this target."""
    named = {
        name
        for role in ("one", "other", "cards", "parts", "last")
        for name in why.ids.get(role, ())
    }
    about = why.ids["target"][0] if "target" in why.ids else None
    return named <= cards and about == target and OF_FACTS[why.code](truth, why.ids)


# How the table lies, seen anew.


def _slots(position: Position, seat: int, strand: int) -> list[str | None]:
    return list(position.strands(seat)[strand].slots)


def _visible(truth: Truth, position: Position, seat: int, move: Move, why: Explanation) -> bool:
    """Tell whether a refusal by what lies on the table is true."""
    tables, rules, args = position.tables, truth.game.rules, move.args
    legal = position.legal_moves()
    numbers = {one.number for one in legal}
    draws = {
        MoveNumber.DRAW_STOCK: "stock",
        MoveNumber.DRAW_DISPLAY: "display",
        MoveNumber.SWAP: "swap",
        MoveNumber.TAKE_LOOSE: "take-loose",
        MoveNumber.LIFT: "lift",
    }
    strands = position.strands(seat)
    tiers_of = {
        kind: int(tables.strands.kind_tier[place])
        for place, kind in enumerate(tables.placed_kinds)
    }

    def held(strand: int) -> list[int]:
        return [tier for tier, slot in enumerate(_slots(position, seat, strand)) if slot]

    code = why.code
    if code == "draw-first":
        return bool(numbers & set(draws))
    if code == "draw-not-in-game":
        return draws[MoveNumber(move.number)] not in rules.draws
    if code in ("draw-after-play", "no-draws-left"):
        return not numbers & set(draws)
    if code == "no-plays-left":
        return not numbers & {MoveNumber.LAY, MoveNumber.ATTACH}
    if code == "must-play":
        plays = {MoveNumber.LAY, MoveNumber.ATTACH, MoveNumber.ATTACH_GAP}
        return rules.must_play and bool(numbers & (plays | {MoveNumber.JOIN, MoveNumber.CLAIM}))
    if code == "pass-never":
        return rules.may_pass == "never"
    if code == "pass-with-stock":
        return rules.may_pass == "stock-empty" and len(position.stock) == why.numbers["count"] > 0
    if code == "pass-too-late":
        return rules.may_pass != "never" and MoveNumber.PASS not in numbers
    if code == "stock-empty":
        return not position.stock
    if code == "no-late-lifts":
        return not position.stock and MoveNumber.LIFT not in numbers
    if code == "not-in-hand":
        return position.hand(seat).get(why.ids["card"][0], 0) == 0
    if code == "not-in-display":
        return why.ids["card"][0] not in position.display
    if code == "nothing-to-answer":
        return move.number in (MoveNumber.LET, MoveNumber.CANCEL)
    if code == "no-variant-cards":
        return "variant" not in truth.game.hand_kinds
    if code == "not-loose-there":
        kind, rival = tables.placed_kinds[args[2]], (seat + args[0]) % tables.seats
        alone = [strand.slots for strand in position.strands(rival)]
        return not any([s for s in slots if s] == [kind] for slots in alone)
    if code == "guarded":
        return MoveNumber.TAKE_LOOSE not in {
            one.number
            for one in legal
            if one.number == MoveNumber.TAKE_LOOSE and one.args[0] == args[0]
        }
    if code == "no-such-strand":
        strand = args[1] if move.number == MoveNumber.TAKE_LOOSE else args[0]
        alone = strand < len(strands) and len(held(strand)) == 1
        return strand >= len(strands) or (
            move.number == MoveNumber.LIFT and alone and args[1] == 1
        )
    if code in ("tier-taken", "not-at-end", "at-the-gap"):
        strand = args[1] if move.number == MoveNumber.TAKE_LOOSE else args[0]
        card = tables.placed_kinds[args[-1]]
        tier, there = tiers_of[card], held(strand)
        if code == "tier-taken":
            return tier in there
        if code == "not-at-end":
            closed = not rules.insert or move.number == MoveNumber.ATTACH_GAP
            return closed and min(there) <= tier <= max(there)
        gap = strands[strand].gap
        proximal = [one for one in there if one < gap]
        return bool(gap) and max(proximal) < tier < min(set(there) - set(proximal))
    if code == "gap-already":
        return strands[args[0]].gap > 0
    if code == "fits-without-gap":
        return Move(MoveNumber.ATTACH, args) in legal
    if code == "gap-is-not-joined":
        return strands[args[0]].gap > 0 or strands[args[1]].gap > 0
    if code in ("tier-twice", "not-beyond"):
        one, other = held(args[0]), held(args[1])
        if code == "tier-twice":
            return bool(set(one) & set(other))
        return not rules.insert and max(one) > min(other) and max(other) > min(one)
    if code == "target-not-open":
        name = tables.targets[args[1]]
        return name not in (*position.open_targets, *position.secret_targets(seat))
    slots = _slots(position, seat, args[0])[strands[args[0]].gap :]
    cards = [slot for slot in slots if slot is not None]
    if code == "too-few-cards":
        return len(cards) == why.numbers["count"] < why.numbers["least"] <= rules.claim_minimum
    if code == "too-few-real":
        real = sum(not card.startswith("wild:") for card in cards)
        return real == why.numbers["real"] < why.numbers["least"] == rules.claim_real
    if code == "not-from-origin":
        return "origin" in rules.claim_needs and cards[0] not in truth.origins
    raise AssertionError(f"no test for the reason {code!r}")


@pytest.mark.parametrize("name", [*SMALL, *BUNDLED])
def test_the_referee_agrees_with_the_engine_and_every_reason_is_true(lab: Any, name: str) -> None:
    game = lab.game(name)
    referee, truth = Referee(game), Truth(game)
    sizes, rng = list(game.rules.table_sizes), random.Random(5)
    every, most = (11, 400) if name in BUNDLED else (4, 250)
    refused = 0
    for seats in {sizes[0], sizes[-1]}:
        for position in lab.positions(name, seats, 23, every=every):
            seat = position.seat_to_move
            legal = set(position.legal_moves())
            look = referee.look(position, seat)
            moves = list(lab.every_move(position, seat))
            rng.shuffle(moves)
            for move in [*moves[:most], *legal]:
                why = look.explain(move)
                assert why.holds == (move in legal), (position.name(move), why)
                assert why.sentence.endswith((".", ")"))
                if why.holds:
                    continue
                refused += 1
                if why.of_facts:
                    strands = [
                        slot
                        for strand in position.strands(seat)
                        for slot in strand.slots
                        if slot is not None
                    ]
                    on_move = move.number in (MoveNumber.ATTACH, MoveNumber.TAKE_LOOSE)
                    card = {position.tables.placed_kinds[move.args[-1]]} if on_move else set()
                    is_claim = move.number == MoveNumber.CLAIM
                    target = position.tables.targets[move.args[1]] if is_claim else None
                    assert _is_true(truth, why, {*strands, *card}, target), (move, why)
                else:
                    assert _visible(truth, position, seat, move, why), (move, why)
    assert refused > 50


def _any_slots(game: Game, rng: random.Random) -> tuple[str | None, ...]:
    """Give a strand laid at random, wild cards among it where the game has them."""
    slots: list[str | None] = []
    for tier in game.tiers:
        wilds = [
            kind for kind in (f"wild:{tier}", f"wild:any@{tier}") if kind in game.placed_kinds
        ]
        choices: list[str | None] = [None, *game.strands.on_tier[tier]]
        slots.append(rng.choice(wilds) if wilds and rng.random() < 0.25 else rng.choice(choices))
    return tuple(slots)


@pytest.mark.parametrize(
    "name", ["giants-leg", "lock-keepers", "neighbours", "jokers", "charters"]
)
def test_of_any_cards_in_a_row_the_reason_why_they_do_not_hold_is_true(
    lab: Any, name: str
) -> None:
    game = lab.game(name)
    referee, truth, rng = Referee(game), Truth(game), random.Random(31)
    codes = set()
    for _ in range(1500):
        slots = _any_slots(game, rng)
        cards = tuple(slot for slot in slots if slot is not None)
        if not cards:
            continue
        why = referee.strand(slots)
        alone = len(cards) == 1
        assert why.holds == (alone or any(_joins(truth, r) for r in truth.readings(cards)))
        if not why.holds:
            codes.add(why.code)
            assert _is_true(truth, why, set(cards), None), (slots, why)
        elif "way" in why.ids:
            fibres = [way for way in game.anatomy.all_pathways if way.structures == why.ids["way"]]
            assert set(why.ids["reading"]) <= set(why.ids["way"])
            assert why.ids["supplies"][0] in {way.target for way in fibres}
            assert fibres[0].origin in why.ids["origins"]
    assert codes


@pytest.mark.parametrize("name", [*SMALL, *BUNDLED])
def test_of_any_strand_and_target_the_reason_why_it_does_not_claim_is_true(
    lab: Any, name: str
) -> None:
    game = lab.game(name)
    referee, truth, rng = Referee(game), Truth(game), random.Random(17)
    shortest = max(1, game.rules.claim_minimum, game.rules.claim_real)
    strands = sorted(strand for strand in game.joined_strands if len(strand) >= shortest)
    if "origin" in game.rules.claim_needs:
        strands = [strand for strand in strands if strand[0] in truth.origins]
    tier = game.strands.tier_index
    for _ in range(400):
        strand, target = rng.choice(strands), rng.choice(game.targets)
        slots: list[str | None] = [None] * len(game.tiers)
        for card in strand:
            slots[tier[card]] = card
        reason = referee.junctions.claims(tuple(slots), target)

        assert reason.holds == (strand in game.claiming_strands[target])
        if not reason.holds:
            why = Explanation(
                reason.code, False, True, referee.sentence(reason), reason.ids, reason.numbers
            )
            assert _is_true(truth, why, set(strand), target), (strand, target, why)


def test_where_fibres_part_the_referee_names_what_enters_and_what_goes_on(lab: Any) -> None:
    """By hand, from links.csv of the bundled leg.

    The anterior division of the lumbar plexus goes on to the obturator nerve only, the
    femoral nerve comes from the posterior division and carries L2, L3 and L4.
    """
    referee = Referee(lab.game("giants-leg"))
    tiers = referee.game.tiers

    def strand(**cards: str) -> Explanation:
        return referee.strand(tuple(cards.get(tier.replace("-", "_")) for tier in tiers))

    parted = strand(division="lumbar-anterior-division", nerve="femoral-nerve")
    apart = strand(root="s3", nerve="femoral-nerve")

    assert parted.code == "fibres-part"
    assert parted.sentence.startswith("No fibre runs through both Anterior division of the lumbar")
    assert apart.code == "no-shared-fibre"
    assert apart.sentence.endswith("Femoral nerve carries L2, L3 and L4.")


@pytest.mark.parametrize(
    ("set_up", "code"),
    [("over", "over"), ("rival", "wrong-turn")],
)
def test_whose_turn_it_is_comes_before_everything(lab: Any, set_up: str, code: str) -> None:
    game = lab.game("plain")
    position = next(lab.positions("plain", 2, 1))
    if set_up == "over":
        while not position.finished:
            position.apply(0)
    seat = position.seat_to_move if set_up == "over" else 1 - position.seat_to_move

    assert Referee(game).explain(position, seat, Move(MoveNumber.DRAW_STOCK)).code == code


PAIR = {"pair-1": ("l5", "femoral-nerve", "l4")}
RARE: list[tuple[str, dict[str, tuple[str, ...]], dict[str, int]]] = [
    ("at-the-gap", {"card": ("l5",), "cards": ("l4", "l5")}, {}),
    ("gap-already", {"cards": ("l4", "wild:any@root")}, {}),
    ("gap-is-not-joined", {}, {}),
    ("not-all-at-once", {"cards": ("l4", "l5"), "enters": ("l4",), "goes-on": ("l4",)}, {}),
    ("does-not-go-on", {"cards": ("l4",) * 4, "enters": ("l4",), "goes-on": ("l5",)}, {}),
    ("on-no-pathway", {"cards": ("l4",)}, {}),
    ("no-reading-claims", {"cards": ("l4",), "target": ("iliacus",), "lasts": ("l4",)}, {}),
    ("holds-untrue", PAIR, {}),
    ("holds-by-pairs", PAIR, {}),
    ("claims-untrue", {"target": ("iliacus",), "last": ("l4",)}, {"count": 3, "points": 4}),
    ("reply-first", {}, {}),
    ("may-answer", {}, {}),
    ("too-few-real", {"cards": ("l4",)}, {"real": 0, "least": 1}),
]


@pytest.mark.parametrize(("code", "ids", "numbers"), RARE, ids=[row[0] for row in RARE])
def test_a_reason_that_seldom_comes_up_has_its_sentence_all_the_same(
    lab: Any, code: str, ids: dict[str, tuple[str, ...]], numbers: dict[str, int]
) -> None:
    told = Referee(lab.game("giants-leg")).sentence(Reason(code, False, ids, numbers))

    assert told.endswith(".")
    assert "{" not in told


def test_a_reply_comes_before_everything_else(lab: Any) -> None:
    """Thieves: a take waits while its owner may cancel it."""
    game = lab.game("thieves")
    referee, found = Referee(game), 0
    for seed in range(40):
        for position in lab.positions("thieves", 3, seed):
            seat = position.seat_to_move
            if Move(MoveNumber.LET) not in position.legal_moves():
                continue
            found += 1
            assert referee.explain(position, seat, Move(MoveNumber.CANCEL)).holds
            why = referee.explain(position, seat, Move(MoveNumber.DRAW_STOCK))
            assert why.code == "reply-first"
        if found:
            break
    assert found


def test_nothing_goes_into_a_gap_and_a_strand_has_one(lab: Any) -> None:
    """Variant cards: whatever is tried on strands with a gap is refused as docs/rules.md says."""
    codes = set()
    for name in ("jokers", "toolbox", "crowd", "insert", "charters"):
        game = lab.game(name)
        if "variant" not in game.hand_kinds:
            continue
        referee, truth = Referee(game), Truth(game)
        for seed in range(6):
            for position in lab.positions(name, game.rules.table_sizes[0], seed):
                seat = position.seat_to_move
                if not any(strand.gap for strand in position.strands(seat)):
                    continue
                legal = set(position.legal_moves())
                look = referee.look(position, seat)
                for move in lab.every_move(position, seat):
                    why = look.explain(move)
                    assert why.holds == (move in legal)
                    if why.code in ("at-the-gap", "gap-already", "gap-is-not-joined"):
                        assert _visible(truth, position, seat, move, why)
                        codes.add(why.code)
    assert {"gap-already", "gap-is-not-joined"} <= codes
