"""From games to cards: what is printed is what the printed test needs."""

from itertools import combinations

import pytest

from nervure.game import printed_test, read_game
from nervure.press import gather_deck, set_deck
from nervure.press.cards import PartCard, TargetCard, VariantCard, WildCard
from nervure.project import read_folder


def game_of(tmp_path, settings="", deck="", name="leg"):
    text = f'title = "Restringing the {name}"\n[map]\nname = "{name}"\n{settings}'
    (tmp_path / "game.toml").write_text(text)
    if deck:
        (tmp_path / "deck.csv").write_text(deck)
    return read_game(read_folder(tmp_path))


@pytest.fixture(scope="module")
def leg(tmp_path_factory):
    return game_of(tmp_path_factory.mktemp("leg"))


@pytest.fixture(scope="module")
def leg_deck(leg):
    return gather_deck(leg)


def parts(deck):
    return {card.id: card for card in deck.cards if isinstance(card, PartCard)}


def targets(deck):
    return {card.id: card for card in deck.cards if isinstance(card, TargetCard)}


def test_there_is_a_card_for_every_structure_and_target_of_the_game(leg, leg_deck):
    assert list(parts(leg_deck)) == list(leg.structures)
    assert list(targets(leg_deck)) == list(leg.targets)


def test_the_printed_cards_referee_every_strand_of_two(leg, leg_deck):
    # Read from the cards alone: each lists the other, and one origin is marked on both.
    cards = parts(leg_deck)
    lists = {
        name: {entry.id for entry in (*card.proximal, *card.distal)}
        for name, card in cards.items()
    }
    passing = {
        (a, b)
        for a, b in combinations(leg.structures, 2)
        if b in lists[a] and a in lists[b] and set(cards[a].reached) & set(cards[b].reached)
    }

    good = {strand for strand in leg.joined_strands if len(strand) == 2}
    assert passing == good


def test_cards_and_printed_test_speak_of_the_same_lists(leg, leg_deck):
    assert printed_test(leg).can_be_made
    for name, card in parts(leg_deck).items():
        listed = {entry.id for entry in (*card.proximal, *card.distal)}
        assert listed == set(leg.prints.part_lists(name))
        assert card.reached == leg.prints.origins_of_part[name]


def test_proximal_lists_hold_what_is_proximal(leg, leg_deck):
    place = {tier: n for n, tier in enumerate(leg.tiers)}
    for card in parts(leg_deck).values():
        assert all(place[entry.group] < place[card.tier] for entry in card.proximal)
        assert all(place[entry.group] > place[card.tier] for entry in card.distal)


def test_nothing_of_the_bundled_leg_is_grouped_or_refused(leg_deck):
    setting = set_deck(leg_deck)

    assert setting.refused == ()
    assert setting.grouped == {}


@pytest.mark.parametrize("name", ["arm", "gut"])
def test_other_bundled_maps_are_set_without_a_refusal(tmp_path, name):
    setting = set_deck(gather_deck(game_of(tmp_path, name=name)))

    assert setting.refused == ()


def test_the_map_says_flow_on_the_cards_of_the_gut(tmp_path):
    setting = set_deck(gather_deck(game_of(tmp_path, name="gut")))

    labels = {data["note_label"] for data in setting.data if data["type"] == "target"}
    assert labels == {"flow"}


@pytest.mark.parametrize(
    ("shows", "lists", "lists_targets"),
    [("nothing", False, False), ("links", True, False), ("links-and-targets", True, True)],
)
def test_edges_follow_parts_show(tmp_path, shows, lists, lists_targets):
    deck = gather_deck(game_of(tmp_path, f'[rules]\nparts_show = "{shows}"\n'))
    femoral = parts(deck)["femoral-posterior-division"]

    groups = {entry.group for entry in femoral.distal}
    assert bool(femoral.proximal) is lists
    assert ("kind:muscle" in groups) is lists_targets


@pytest.mark.parametrize("shows", ["nothing", "origins", "way", "pathways"])
def test_target_cards_follow_targets_show(tmp_path, shows):
    deck = gather_deck(game_of(tmp_path, f'[rules]\ntargets_show = "{shows}"\n'))
    setting = set_deck(deck)
    data = next(one for one in setting.data if one["id"] == "rectus-femoris")

    assert data["shows"] == shows
    assert bool(data["hot"]) is (shows == "pathways")
    assert setting.refused == ()


def test_lit_veins_are_those_of_the_pathways(leg, leg_deck):
    veins = leg_deck.drawing.veins
    card = targets(leg_deck)["rectus-femoris"]
    steps = {
        step
        for pathway in leg.pathways("rectus-femoris")
        for step in zip(pathway.structures, pathway.structures[1:], strict=False)
    }

    assert {(veins[n].start, veins[n].end) for n in card.lit} == steps


def test_wild_and_variant_cards_come_after_the_parts(tmp_path):
    rows = "card,copies\nwild:nerve,2\nwild:any,1\nvariant,3\n"
    cards = [c for c in gather_deck(game_of(tmp_path, deck=rows)).cards]

    held = [card for card in cards if not isinstance(card, TargetCard)][-3:]
    assert [type(card) for card in held] == [WildCard, WildCard, VariantCard]
    assert [card.copies for card in held] == [2, 1, 3]
    assert held[0].tiers == ("nerve",)


def test_a_derived_bonus_has_its_sentence_on_the_card(tmp_path):
    bonus = '[[bonus]]\nid = "spare"\nwhen = "one-time"\ndoes = ["draw 2"]\n'
    deck = gather_deck(game_of(tmp_path, bonus))

    texts = {card.bonus.says for card in targets(deck).values()}
    assert len(texts) == 1
    assert "2" in texts.pop()
