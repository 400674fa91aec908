"""The marks told apart by shape alone, in one ink."""

import io
import itertools

import numpy as np
import pytest
from PIL import Image

from nervure.typeset.typesetter import Typesetter

TIERS = ["tier-root", "tier-trunk", "tier-division", "tier-cord", "tier-nerve", "tier-branch"]
KINDS = [f"target-{k}" for k in ("muscle", "skin", "reflex", "organ", "potential", "autonomic")]
MOST_SHIFT = 4  # pixels at 300 dpi


def pictures(marks, size_mm):
    pages = Typesetter("typeset/specimen.typ").png({"size": size_mm, "marks": marks}, 300)
    return [np.asarray(Image.open(io.BytesIO(page)).convert("L"), dtype=float) for page in pages]


def likeness(one, other):
    """Give the highest correlation of two pictures over small shifts; 1: the same shape."""
    shifts = range(-MOST_SHIFT, MOST_SHIFT + 1)
    return max(
        float(np.corrcoef(one.ravel(), np.roll(other, (dy, dx), (0, 1)).ravel())[0, 1])
        for dy in shifts
        for dx in shifts
    )


# Floors of our own choice: 0.6 for tiers, 0.8 for kinds, which share their slip.
@pytest.mark.parametrize(("marks", "most"), [(TIERS, 0.6), (KINDS, 0.8)])
@pytest.mark.parametrize("size_mm", [5.0, 3.2])
def test_no_two_marks_look_alike_in_black(marks, most, size_mm):
    drawn = dict(zip(marks, pictures(marks, size_mm), strict=True))

    alike = {
        pair: likeness(drawn[pair[0]], drawn[pair[1]]) for pair in itertools.combinations(marks, 2)
    }

    assert max(alike.values()) < most, max(alike, key=alike.__getitem__)


def test_the_resolution_is_written_into_a_picture():
    (page,) = Typesetter("typeset/specimen.typ").png({"size": 25.4, "marks": ["tier-root"]}, 300)
    picture = Image.open(io.BytesIO(page))

    assert picture.size == (300, 300)
    assert picture.info["dpi"] == pytest.approx((300, 300), abs=0.01)
