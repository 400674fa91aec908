import numpy as np
import pytest

from nervure.engine import EndedBy, Tie, digest, joined_blocks, play
from nervure.errors import BadUsage, UnknownName
from nervure.game.strand_tables import DeckWay, StrandDesign
from nervure.game.tables import Draw

STYLES = ("chance", "sprinter", "builder")
NEVER = 99


def _same(one, other):
    columns = other.columns()
    return all(np.array_equal(value, columns[name]) for name, value in one.columns().items())


def test_two_threads_play_the_same_games_as_one(tree_tables):
    line_up = ["chance", "sprinter", "builder"]

    one = play(tree_tables, line_up, seed=5, deals=800, rotations="all", workers=1)
    two = play(tree_tables, line_up, seed=5, deals=800, rotations="all", workers=2)

    assert _same(one, two)
    assert digest([one]) == digest([two])


def test_deals_are_the_same_wherever_a_block_begins(tree_tables):
    line_up = ["sprinter", "chance", "chance"]
    whole = play(tree_tables, line_up, seed=5, deals=30, rotations="all")
    blocks = [
        play(tree_tables, line_up, seed=5, first_deal=first, deals=10, rotations="all")
        for first in (0, 10, 20)
    ]

    assert _same(whole, joined_blocks(blocks))
    assert digest(blocks) == digest([whole])


def test_the_digest_changes_with_the_seed_and_with_the_header(tree_tables):
    games = play(tree_tables, ["chance"] * 3, seed=1, deals=3)
    other = play(tree_tables, ["chance"] * 3, seed=2, deals=3)

    assert digest([games]) != digest([other])
    assert digest([games], "a", "bc") != digest([games], "ab", "c")


def test_a_stopped_block_holds_the_chunks_before_the_stop(tree_tables):
    asked = []

    def stop():
        asked.append(True)
        return len(asked) > 1

    games = play(tree_tables, ["chance"] * 3, seed=1, deals=2000, stop=stop)

    assert len(games) == 500
    assert _same(games, play(tree_tables, ["chance"] * 3, seed=1, deals=500))


@pytest.mark.parametrize("deal", [0, 1, 2, 3])
def test_rotation_moves_the_players_on_and_odd_deals_count_them_backwards(tree_tables, deal):
    games = play(tree_tables, ["chance"] * 3, seed=1, first_deal=deal, deals=1, rotations="all")

    # Seat by seat: player p sits in seat (p + r) mod 3, on odd deals in (2 - p + r) mod 3.
    forwards = [[0, 1, 2], [2, 0, 1], [1, 2, 0]]
    backwards = [[2, 1, 0], [0, 2, 1], [1, 0, 2]]
    assert games.player.tolist() == (backwards if deal % 2 else forwards)


@pytest.mark.parametrize("style", STYLES)
def test_points_and_shares_add_up(tree_tables, style):
    games = play(tree_tables, [style] * 3, seed=4, deals=300)

    assert np.array_equal(games.points, games.points_length + games.points_bonus)
    assert np.all(games.share.sum(axis=1) == 60)
    assert np.array_equal(games.claims.sum(axis=1), games.target_claimed.sum(axis=1))
    assert np.all(games.full_claims <= games.claims)
    assert np.all((games.first_claim >= 1) == (games.claims > 0))
    assert np.all(games.choices >= games.decisions)
    assert np.all(games.idle <= games.turns)


@pytest.mark.parametrize("style", STYLES)
def test_no_card_is_claimed_or_left_more_often_than_there_are_copies(tree_tables, style):
    games = play(tree_tables, [style] * 3, seed=4, deals=300)

    assert np.all(games.card_claimed + games.card_left <= 2)
    assert np.all(games.card_claimed <= games.card_played)


@pytest.mark.parametrize("style", ["sprinter", "builder"])
def test_a_style_beats_chance_clearly(tree_tables, style):
    games = play(tree_tables, [style, "chance", "chance"], seed=8, deals=400, rotations="all")

    share = games.share[games.player == 0].sum() / 60 / len(games)
    # One of three equal players would win a third; 1,200 games, standard error below 0.014.
    assert share > 0.5


def test_the_builder_makes_longer_strands_than_the_sprinter(tree_tables):
    lengths = {}
    for style in ("sprinter", "builder"):
        games = play(tree_tables, [style] * 3, seed=8, deals=400)
        lengths[style] = games.claim_length.sum() / games.target_claimed.sum()

    assert lengths["builder"] > lengths["sprinter"]


def test_chance_wins_a_two_card_game_as_often_as_worked_out(make_tables):
    # Two cards, x before y on the way to the one target, which a single card may claim; one
    # card a hand, nothing to draw. Turns 1 and 2: the card must be laid, then the list is
    # end, claim. Turns 3 and 4: again end, claim. A claim ends the game; after turn 4 two
    # turns have been still, so nobody moves and the win is shared. Seat 1 wins with
    # 1/2 + 1/8, seat 2 with 1/4 + 1/16, 1/16 is shared: 21/32 and 11/32.
    design = StrandDesign(
        sizes=(1, 1),
        targets=1,
        ways=(DeckWay(0, True, (0, 1)),),
        claim_needs=(),
        claim_minimum=1,
        claim_real=0,
    )
    tables = make_tables(
        design, 2, copies=1, hand=1, display=0, open_targets=1, points=(0, 1, 1, 1, 1, 1, 1)
    )
    deals = 40_000

    games = play(tables, ["chance"] * 2, seed=11, deals=deals)

    bound = 5 * np.sqrt(21 / 32 * 11 / 32 / deals)
    assert games.share[:, 0].mean() / 60 == pytest.approx(21 / 32, abs=bound)
    assert (games.tie == Tie.SHARED).mean() == pytest.approx(1 / 16, abs=5 * 0.0012)
    assert set(games.turns.tolist()) == {1, 2, 3, 4}


ENDS = [
    ("claims", {"end_claims": 1}, EndedBy.OWN_RULE),
    ("points", {"end_claims": 0, "end_points": 2}, EndedBy.OWN_RULE),
    ("rounds", {"end_claims": 0, "end_rounds": 3}, EndedBy.OWN_RULE),
    ("clock", {"end_claims": 0, "end_turns": 7}, EndedBy.OWN_RULE),
    ("stock-empty", {"end_claims": 0, "end_stock": 1}, EndedBy.OWN_RULE),
    ("nobody moves", {"end_claims": NEVER}, EndedBy.NOBODY_MOVES),
    ("targets gone", {"end_claims": NEVER, "open_targets": 1}, EndedBy.TARGETS_GONE),
    (
        "unfinished",
        {"end_claims": NEVER, "draws": Draw.LIFT, "refill": 0, "claim_minimum": 6},
        EndedBy.UNFINISHED,
    ),
]


@pytest.mark.parametrize(("rules", "reason"), [end[1:] for end in ENDS], ids=[e[0] for e in ENDS])
def test_a_tiny_design_reaches_every_end(make_tables, make_tree, rules, reason):
    design = make_tree(sizes=(2, 3), targets=1 if "open_targets" in rules else 6)
    tables = make_tables(design, 2, copies=3, **rules)

    games = play(tables, ["chance"] * 2, seed=2, deals=200)

    assert reason in games.ended_by


@pytest.mark.parametrize("seats", [1, 2, 3])
def test_a_game_in_which_all_pass_ends_by_its_own_rule(make_tables, make_tree, seats):
    # docs/rules.md, Closing a turn: who passes for good leaves the still turns alone, so that
    # the others play on until they have passed as well.
    tables = make_tables(
        make_tree(sizes=(2, 3), targets=6), seats, end_claims=0, end_passed=1, may_pass=2
    )

    games = play(tables, ["chance"] * seats, seed=2, deals=100)

    assert EndedBy.OWN_RULE in games.ended_by
    assert games.turns[games.ended_by == EndedBy.OWN_RULE].max() > seats


def test_a_game_of_rounds_lasts_as_many_rounds(make_tables, make_tree):
    tables = make_tables(make_tree(), 3, end_claims=0, end_rounds=4)

    games = play(tables, ["chance"] * 3, seed=2, deals=200)

    assert np.all(games.turns[games.ended_by == EndedBy.OWN_RULE] == 12)
    assert np.any(games.ended_by == EndedBy.OWN_RULE)


def test_an_endless_design_stops_at_the_safety_bound(make_tables, make_tree):
    tables = make_tables(make_tree(), 2, claim_minimum=6, draws=Draw.LIFT, refill=0)

    games = play(tables, ["sprinter"] * 2, seed=2, deals=3)

    # 30 part cards: 4 * 30 + 100 turns.
    assert games.turns.tolist() == [220, 220, 220]
    assert np.all(games.ended_by == EndedBy.UNFINISHED)


def test_one_player_plays_without_a_winner(make_tables, make_tree):
    games = play(make_tables(make_tree(), 1), ["sprinter"], seed=2, deals=50)

    assert np.all(games.share == 0)
    assert games.claims.mean() > 1


def test_six_seats_are_played(make_tables, make_tree):
    tables = make_tables(make_tree(sizes=(4, 8, 12), targets=30), 6, copies=4)

    games = play(tables, ["sprinter"] * 6, seed=2, deals=50)

    assert games.claims.shape == (50, 6)
    assert np.all(games.claims.sum(axis=0) > 0)


def test_more_than_64_targets_are_claimed(make_tables, make_tree):
    tables = make_tables(make_tree(sizes=(4, 8, 12), targets=100), 3, copies=4, open_targets=8)

    games = play(tables, ["sprinter"] * 3, seed=2, deals=200)

    assert games.target_claimed[:, 64:].sum() > 0


def test_the_line_up_must_fit_the_table(tree_tables):
    with pytest.raises(BadUsage, match="2 players for a table of 3"):
        play(tree_tables, ["chance"] * 2, seed=1, deals=1)


def test_an_unknown_style_is_named_with_those_that_exist(tree_tables):
    with pytest.raises(UnknownName, match="sprinter"):
        play(tree_tables, ["chance", "chance", "sprintor"], seed=1, deals=1)
