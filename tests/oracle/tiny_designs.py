"""Hypothesis strategies for tiny designs: a small map, a deck and rules over every key.

Comes in: nothing but what hypothesis draws. Goes out: a `nervure.project.records.Folder`
that was never on a disk. Numbers of cards are fitted to the deck, so that most designs are
playable; those that are not are for the caller to pass over.
"""

from __future__ import annotations

from pathlib import Path
from typing import Any

from hypothesis import strategies as st

from nervure.errors import Place
from nervure.game import Game, read_game
from nervure.game.bonuses import EFFECTS
from nervure.project.records import (
    DEFAULT_WORDS,
    DeckRow,
    Folder,
    Link,
    Map,
    Source,
    Structure,
    Supply,
    Target,
    Tier,
)

HERE = Place("invented.csv", 2)
KINDS = ("muscle", "organ", "skin")
Draw = Any
Settings = dict[str, Any]

rarely = st.sampled_from([False, False, False, False, True])
sometimes = st.sampled_from([False, False, True])


@st.composite
def maps(draw: Draw) -> Map:
    """Draw a map of 3 to 5 tiers with 1 to 4 structures each and 1 to 6 targets."""
    letters = "abcde"[: draw(st.integers(3, 5))]
    tiers = tuple(Tier(f"tier-{x}", x, x, "root", HERE) for x in letters)
    structures = tuple(
        Structure(f"{x}{n}", f"tier-{x}", f"{x}{n}", "", "", True, "", HERE)
        for x in letters
        for n in range(1, draw(st.sampled_from([2, 3, 1, 4])) + 1)
    )
    reach = {s.id: {s.id} for s in structures if s.tier == tiers[0].id}
    links: list[Link] = []
    has_levels = draw(rarely)
    for place, structure in enumerate(structures):
        if structure.id in reach:
            continue
        before = [s.id for s in structures[:place] if s.tier != structure.tier]
        near = [
            s.id
            for s in structures[:place]
            if s.id[0] == letters[letters.index(structure.id[0]) - 1]
        ]
        if draw(rarely):
            before = [s.id for s in structures[:place]]
            near = before
        parents = draw(st.lists(st.sampled_from(near), min_size=1, max_size=3, unique=True))
        if draw(sometimes):
            parents.append(draw(st.sampled_from(before)))
        reach[structure.id] = set()
        for parent in dict.fromkeys(parents):
            fibres = draw(_fibres(reach[parent]))
            level, enters, via = None, 0, ()
            if has_levels:
                level, enters = draw(st.integers(1, 3)), draw(st.sampled_from([0, 0, 0, 1]))
            links.append(
                Link(parent, structure.id, level, enters, via, fibres, (), "", ("own",), HERE)
            )
            reach[structure.id] |= reach[parent] if fibres is None else set(fibres)
    targets, supplies = [], []
    for number in range(1, draw(st.sampled_from([5, 6, 4, 3, 2, 1])) + 1):
        name = f"target-{number}"
        kind = draw(st.sampled_from(KINDS))
        targets.append(Target(name, name, "", kind, "sum", "", "", ("own",), HERE))
        ends = [s.id for s in structures if s.tier != tiers[0].id] or [structures[-1].id]
        for through in draw(st.lists(st.sampled_from(ends), min_size=1, max_size=2, unique=True)):
            fibres = draw(_fibres(reach[through]))
            known = sorted(reach[through] if fibres is None else fibres)
            main = tuple(draw(st.lists(st.sampled_from(known), max_size=2, unique=True)))
            supplies.append(
                Supply(name, through, None, (), fibres, main, None, "", ("own",), HERE)
            )
    source = Source("own", "invented for a test", "own", "own observation", HERE)
    return Map("tiny", tiers, structures, tuple(links), tuple(targets), tuple(supplies), (source,))


@st.composite
def _fibres(draw: Draw, reach: set[str]) -> tuple[str, ...] | None:
    if draw(st.booleans()):
        return None
    return tuple(draw(st.lists(st.sampled_from(sorted(reach)), min_size=1, unique=True)))


@st.composite
def decks(draw: Draw, map_: Map, has_variants: bool = False) -> tuple[DeckRow, ...]:
    """Draw what differs from the default deck: copies, wilds, points, variant cards."""
    rows = []
    for structure in map_.structures:
        if draw(sometimes):
            rows.append(DeckRow(structure.id, draw(st.integers(0, 4)), None, "", HERE))
    for wild in [*(f"wild:{tier.id}" for tier in map_.tiers), "wild:any"]:
        if draw(rarely):
            rows.append(DeckRow(wild, draw(st.integers(1, 2)), None, "", HERE))
    if has_variants and draw(st.booleans()):
        rows.append(DeckRow("variant", draw(st.integers(1, 3)), None, "", HERE))
    lists_points = draw(st.booleans())
    for target in map_.targets:
        points, copies = None, None
        if lists_points:
            drawn = draw(st.lists(st.integers(0, 9), min_size=1, max_size=4))
            points = tuple(sorted(drawn))
        if draw(st.booleans()):
            copies = draw(st.sampled_from([3, 2, 4, 1, 0]))
        if points or copies is not None:
            rows.append(DeckRow(target.id, copies, points, "", HERE))
    return tuple(rows)


@st.composite
def rules(draw: Draw, map_: Map) -> Settings:
    """Draw rules over every key, numbers of cards still to be fitted to the deck."""
    ids = [target.id for target in map_.targets]
    tiers = [tier.id for tier in map_.tiers]
    least = draw(st.sampled_from([2, 3, 2, 1, 4, 2, 5]))
    most = min(6, least + draw(st.integers(0, 2)))
    needs = draw(st.lists(st.sampled_from(["last", "origin"]), unique=True))
    has_fewer_tiers = draw(sometimes)
    deck_tiers = (
        draw(st.lists(st.sampled_from(tiers), min_size=2, unique=True)) if has_fewer_tiers else []
    )
    if deck_tiers and tiers[0] not in deck_tiers:
        needs = [need for need in needs if need != "origin"]
    chosen: Settings = {
        "players": (least, most),
        "tiers": tuple(deck_tiers),
        "targets": tuple(draw(st.sampled_from([KINDS, KINDS[:2], (*KINDS[1:], ids[0]), ids]))),
        "hand": draw(_by_players(st.sampled_from([3, 4, 5, 2, 1]))),
        "seat_cards": tuple(draw(st.lists(st.integers(0, 2), max_size=most))),
        "open_targets": draw(_by_players(st.sampled_from([3, 4, 2, 1, 0]))),
        "secret_targets": draw(st.sampled_from([0, 0, 1, 2])),
        "display": draw(_by_players(st.integers(0, 3))),
        "draws": tuple(
            draw(
                st.lists(
                    st.sampled_from(["stock", "display", "swap", "take-loose", "lift"]),
                    min_size=draw(st.sampled_from([3, 2, 1, 0, 4, 5])),
                    unique=True,
                )
            )
        ),
        "draw_count": draw(st.sampled_from([1, 1, 2, 3])),
        "play_count": draw(st.sampled_from([1, 1, 2, 3])),
        "must_play": draw(st.booleans()),
        "connect": draw(st.sampled_from(["true", "neighbours"])),
        "skip_tiers": draw(st.booleans()),
        "insert": draw(st.booleans()),
        "supply": draw(st.sampled_from(["true", "main", "last-card"])),
        "claim_needs": tuple(needs),
        "claim_minimum": draw(st.sampled_from([2, 1, 2, 3])),
        "claim_real": draw(st.sampled_from([1, 0, 2])),
        "full_strand": draw(st.sampled_from(["way", "way", "deck"])),
        "join": draw(st.sampled_from(["any-time", "instead-of-play"])),
        "claim": draw(st.sampled_from(["any-time", "instead-of-play"])),
        "refill": draw(st.booleans()),
        "swapped_go": draw(st.sampled_from(["pile", "under"])),
        "may_pass": draw(st.sampled_from(["never", "stock-empty", "always"])),
        "late_lifts": draw(st.integers(0, 3)),
        "parts_show": draw(st.sampled_from(["nothing", "links", "links-and-targets"])),
        "targets_show": draw(st.sampled_from(["nothing", "origins", "way", "pathways"])),
        "tie_breaks": tuple(
            draw(
                st.lists(
                    st.sampled_from(
                        ["full-strands", "fewest-cards", "claims", "last-seat", f"target:{ids[0]}"]
                    ),
                    unique=True,
                )
            )
        ),
    }
    kinds = ["claims", "points", "rounds", "stock-empty", "clock"]
    if chosen["may_pass"] != "never":
        kinds.append("all-passed")
    chosen["end"] = {
        str(least): draw(_ends(kinds)),
        **({str(most): draw(_ends(kinds))} if most > least and draw(rarely) else {}),
    }
    return chosen


@st.composite
def _by_players(draw: Draw, values: st.SearchStrategy[int]) -> Any:
    if draw(rarely):
        return {
            str(number): draw(values) for number in draw(st.sets(st.integers(1, 6), min_size=1))
        }
    return draw(values)


@st.composite
def _ends(draw: Draw, kinds: list[str]) -> tuple[str, ...]:
    numbers = {
        "claims": [5, 6, 4, 3, 2, 1],
        "points": [20, 30, 12, 5, 1],
        "rounds": [16, 25, 8, 2, 1],
        "clock": [20, 30, 9, 2, 1],
    }
    return tuple(
        f"{kind}: {draw(st.sampled_from(numbers[kind]))}" if kind in numbers else kind
        for kind in draw(st.lists(st.sampled_from(kinds), min_size=1, max_size=2, unique=True))
    )


def folder_of(map_: Map, deck: tuple[DeckRow, ...], rules: Settings, **more: Any) -> Folder:
    """Give a folder with this map, deck and rules; ``more``: other tables of game.toml."""
    settings = {"rules": rules, **more}
    return Folder(Path("tiny"), "Tiny", "en", map_, "folder", (), DEFAULT_WORDS, settings, deck)


@st.composite
def bonuses(draw: Draw, map_: Map, has_replies: bool) -> Settings:
    """Draw one to four bonuses and the cards that they are printed on."""
    forms = dict(EFFECTS)
    if not has_replies:
        del forms["reply"]
    found = []
    for number in range(1, draw(st.integers(1, 4)) + 1):
        when = draw(st.sampled_from(sorted(forms)))
        found.append({"id": f"bonus-{number}", "when": when, "does": tuple(draw(_does(when)))})
    places = ["target", "target", map_.tiers[-1].id]
    return {"bonus": tuple(found), "bonuses": {"printed_on": draw(st.sampled_from(places))}}


@st.composite
def _does(draw: Draw, when: str) -> list[str]:
    names = draw(st.lists(st.sampled_from(sorted(EFFECTS[when])), min_size=1, max_size=2))
    numbered = {
        "draw": "draw {}",
        "play": "play {}",
        "points": "points {}" if when == "one-time" else "points {} muscle",
        "hand": "hand {}",
        "short-claim": "short-claim {}",
    }
    return [numbered.get(name, name).format(draw(st.integers(1, 2))) for name in names]


@st.composite
def games(draw: Draw, without: frozenset[str] = frozenset()) -> Game:
    """Draw a game of a tiny design; `Game.ok` tells whether it can be played.

    ``without``: capabilities, of those that `nervure.game.NOT_PLAYED` can name, that the
    design makes no use of.
    """
    map_ = draw(maps())
    deck = draw(decks(map_, "variant-cards" not in without))
    more = {}
    if "bonuses" not in without and draw(st.booleans()):
        more = draw(bonuses(map_, "replies" not in without))
    return _game_of(map_, deck, draw(rules(map_)), more)


@st.composite
def bonus_games(draw: Draw) -> Game:
    """Draw a game as `games` does, of two deck tiers, in which full strands come easily."""
    map_ = draw(maps())
    deck = draw(decks(map_))
    chosen = draw(rules(map_))
    tiers = [tier.id for tier in map_.tiers]
    easy = {
        "tiers": (draw(st.sampled_from(tiers[:-1])), tiers[-1]),
        "targets": KINDS,
        "open_targets": 3,
        "draws": ("stock", "display", "swap", "take-loose", "lift"),
        "skip_tiers": True,
        "supply": draw(st.sampled_from(["last-card", "true"])),
        "claim_needs": (),
        "claim_minimum": 2,
        "claim_real": 0,
        "full_strand": "deck",
        "end": {"1": ("rounds: 16",)},
    }
    return _game_of(map_, deck, {**chosen, **easy}, draw(bonuses(map_, has_replies=True)))


@st.composite
def hidden_games(draw: Draw) -> Game:
    """Draw a game as `games` does, whose cards mostly print little of the map."""
    map_ = draw(maps())
    shown = {
        "parts_show": draw(st.sampled_from(["nothing", "nothing", "links"])),
        "targets_show": draw(st.sampled_from(["nothing", "nothing", "origins", "way"])),
    }
    more = draw(bonuses(map_, has_replies=True)) if draw(rarely) else {}
    return _game_of(map_, draw(decks(map_, True)), {**draw(rules(map_)), **shown}, more)


def line_ups(seats: int) -> st.SearchStrategy[tuple[str, ...]]:
    """Give line-ups of players who know parts of the map, and of some who know it all."""
    shares = st.sampled_from(["@0", "@0.25", "@0.5", "@0.5", "@0.875", "@0.999", "@1", ""])
    names = st.sampled_from(["sprinter", "builder", "weigher"])
    knowing = st.builds(str.__add__, names, shares)
    return st.tuples(*[knowing | st.just("chance") if seat else knowing for seat in range(seats)])


def _game_of(map_: Map, deck: tuple[DeckRow, ...], chosen: Settings, more: Settings) -> Game:
    smallest = {
        "players": (1, 1),
        "hand": 1,
        "seat_cards": (),
        "display": 0,
        "open_targets": 1,
        "secret_targets": 0,
        "end": ("rounds: 9",),
    }
    draft = read_game(folder_of(map_, deck, {**chosen, **smallest}))
    return read_game(folder_of(map_, deck, fitted(chosen, draft), **more))


def fitted(chosen: Settings, draft: Game) -> Settings:
    """Give rules whose numbers of cards the deck can bear, if it can bear any."""
    least, most = chosen["players"]
    most = max(1, min(most, draft.part_cards, 6))
    least = min(least, most)
    parts, targets = draft.part_cards, draft.target_cards
    display = _capped(chosen["display"], max(0, parts - most))
    free = parts - _largest(display)
    hand = _capped(chosen["hand"], max(1, free // most))
    extra, left = [], free - most * _largest(hand)
    for wanted in chosen["seat_cards"][:most]:
        extra.append(min(wanted, max(0, left)))
        left -= extra[-1]
    open_targets = _capped(chosen["open_targets"], targets)
    secret = min(chosen["secret_targets"], max(0, targets - _largest(open_targets)) // most)
    if secret == 0 and _smallest(open_targets) == 0:
        open_targets = min(2, targets)
    claims = max(1, min(targets, parts // max(1, draft.rules.claim_minimum)))
    end = {
        number: tuple(
            f"claims: {min(claims, int(text.split()[1]))}" if text.startswith("claims") else text
            for text in texts
        )
        for number, texts in chosen["end"].items()
    }
    return {
        **chosen,
        "players": (least, most),
        "hand": hand,
        "seat_cards": tuple(extra),
        "display": display,
        "open_targets": open_targets,
        "secret_targets": secret,
        "end": end,
    }


def _capped(value: Any, most: int) -> Any:
    if isinstance(value, dict):
        return {number: min(held, most) for number, held in value.items()}
    return min(value, most)


def _largest(value: Any) -> int:
    return max(value.values()) if isinstance(value, dict) else int(value)


def _smallest(value: Any) -> int:
    return min(value.values()) if isinstance(value, dict) else int(value)
