"""A whole bundled deck, glyph by glyph: inside the margin, and nothing over anything else."""

from dataclasses import replace
from pathlib import Path

import numpy as np
import pypdfium2
import pytest

from nervure import maps
from nervure.game import read_game
from nervure.press import gather_deck, print_deck
from nervure.project import read_folder

MM = 25.4 / 72
OUTSIDE = 8.0  # slug and bleed, mm


def glyphs(page):
    """Give the tight boxes of a page's glyphs: left, top, right, bottom in mm of the trim.

    Spaces have flat boxes and are left out; the letters of a ligature share one glyph.
    """
    height = page.get_height()
    text = page.get_textpage()
    boxes = [text.get_charbox(index) for index in range(text.count_chars())]
    drawn = {(a, height - d, c, height - b) for a, b, c, d in boxes if c > a and d - b > 0.1}
    return np.array(sorted(drawn)) * MM - OUTSIDE


def overlaps(boxes):
    """Give how much of the smaller glyph of each pair lies under the other, the largest share."""
    left, top, right, bottom = boxes.T
    across = np.minimum.outer(right, right) - np.maximum.outer(left, left)
    down = np.minimum.outer(bottom, bottom) - np.maximum.outer(top, top)
    shared = np.clip(across, 0, None) * np.clip(down, 0, None)
    np.fill_diagonal(shared, 0)
    areas = (right - left) * (bottom - top)
    return (shared / np.minimum.outer(areas, areas)).max()


@pytest.fixture(scope="module", params=["giants-leg", "lock-keepers"])
def pages(request, tmp_path_factory):
    folder = Path(maps.__path__[0]) / "games" / request.param
    deck = gather_deck(read_game(read_folder(folder)))
    single = replace(deck, cards=tuple(replace(card, copies=1) for card in deck.cards))
    result = print_deck(single, tmp_path_factory.mktemp("deck"), ["cards"])
    assert result.refused == ()
    names = [card.id for card in deck.cards]
    return dict(zip(names, pypdfium2.PdfDocument(result.files[0].path), strict=True))


def test_every_glyph_of_every_card_is_inside_the_safe_margin(pages):
    outside = []
    for name, page in pages.items():
        left, top, right, bottom = glyphs(page).T
        if min(left.min(), top.min()) < 3.99 or right.max() > 59.01 or bottom.max() > 84.0:
            outside.append(name)

    assert outside == []


def test_no_text_stands_over_another(pages):
    # Kerned neighbours touch by a few hundredths; a collision covers far more.
    colliding = [name for name, page in pages.items() if overlaps(glyphs(page)) > 0.25]

    assert colliding == []
