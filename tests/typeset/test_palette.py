"""The palettes against their floors."""

import pytest

from nervure.typeset import colour
from nervure.typeset.palette import (
    COLOUR_SAFE,
    DIFFERENCE_ERROR,
    DIFFERENCE_FLOOR,
    GRAPHIC_CONTRAST,
    HERBARIUM,
    LIGHTNESS_FLOOR,
    PALETTES,
    TEXT_CONTRAST,
    measure_palette,
)


def test_text_on_paper_and_mount_reaches_wcag_aa():
    report = measure_palette(HERBARIUM)

    assert min(report.text_contrast.values()) >= TEXT_CONTRAST


def test_lines_and_tiers_on_paper_reach_three_to_one():
    report = measure_palette(HERBARIUM)

    assert min(report.graphic_contrast.values()) >= GRAPHIC_CONTRAST


@pytest.mark.parametrize("seeing", ["normal", *colour.DEFICIENCIES])
def test_tier_colours_stay_apart_however_they_are_seen(seeing):
    assert measure_palette(HERBARIUM).differences[seeing] >= DIFFERENCE_FLOOR


def test_tier_colours_keep_their_order_in_grey():
    lightness = [colour.lab(pigment)[0] for pigment in HERBARIUM.tiers.values()]

    assert lightness == sorted(lightness)
    assert measure_palette(HERBARIUM).lightness_step >= LIGHTNESS_FLOOR


def test_paper_on_the_target_back_can_be_read():
    assert colour.contrast(HERBARIUM.paper, HERBARIUM.leafred) >= TEXT_CONTRAST


def test_the_published_set_is_that_of_petroff():
    # Petroff 2021, arXiv 2107.02270: the set of six.
    published = {"#5790FC", "#F89C20", "#E42536", "#964A8B", "#9C9CA1", "#7A21DD"}

    assert set(COLOUR_SAFE.tiers.values()) == published


def test_the_published_set_is_never_below_the_error_floor():
    assert measure_palette(COLOUR_SAFE).smallest_difference >= DIFFERENCE_ERROR


def test_only_the_tiers_in_use_are_measured():
    both = measure_palette(HERBARIUM, ["root", "branch"])

    assert both.smallest_difference > measure_palette(HERBARIUM).smallest_difference
    assert set(both.graphic_contrast) == {"vein", "root", "branch"}


@pytest.mark.parametrize("name", PALETTES)
def test_every_palette_colours_all_six_marks(name):
    assert list(PALETTES[name].tiers) == ["root", "trunk", "division", "cord", "nerve", "branch"]
