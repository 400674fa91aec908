import dataclasses

import numpy as np
import pytest

from nervure.engine import play
from nervure.engine.features import FEATURES, weight_names
from nervure.engine.weight_sets import MOST_WEIGHT, WeightSet, set_for, weight_sets, weights_for


@pytest.mark.parametrize("found", weight_sets(), ids=lambda found: found.name)
def test_a_set_has_a_whole_number_for_every_feature(found):
    assert len(found.weights) == FEATURES == len(weight_names())
    assert all(abs(weight) <= MOST_WEIGHT for weight in found.weights)


def test_any_other_design_is_played_with_the_general_set(tree_tables):
    assert set_for(tree_tables).name == "general"
    assert weights_for(tree_tables).tolist() == list(weight_sets()[-1].weights)


def test_a_set_fits_by_its_tiers_and_the_rules_that_it_names(tree_tables):
    wanted = WeightSet("own", tree_tables.tiers, (("play_count", 1), ("hand", 4)), ())

    assert wanted.fits(tree_tables)
    assert not dataclasses.replace(wanted, rules=(("hand", 5),)).fits(tree_tables)
    assert not dataclasses.replace(wanted, tiers=("root",)).fits(tree_tables)
    assert wanted.fits(dataclasses.replace(tree_tables, points=tree_tables.points * 2))


def test_the_weights_of_a_player_may_be_given(tree_tables):
    nothing = np.zeros(FEATURES, dtype=np.int32)
    line_up = ["weigher"] * 3
    own = play(tree_tables, line_up, seed=1, deals=300, rotations="all", weights={0: nothing})

    share = own.share[own.player == 0].sum() / 60 / len(own)
    # With no weight for anything the first draw and the first play are made, and no claim.
    assert own.claims[own.player == 0].sum() == 0
    assert share < 0.05
