"""Texts are measured before they are set: steps, lines, single words, missing glyphs."""

import pytest

from nervure.typeset.fit import Block, fit

STEPS = (15.0, 13.0, 11.5, 10.0, 9.0, 8.0, 7.0)


def name_block(text, width=40.1, height=15.4, sizes=STEPS):
    return Block(text, "serif-semibold", sizes, width, height, leading=-0.2, balanced=True)


def test_a_short_text_keeps_the_largest_size():
    (found,) = fit([name_block("Tibial nerve")])

    assert found.size == 15


def test_a_long_text_goes_down_the_steps_only_as_far_as_needed():
    (found,) = fit([name_block("Medial and intermediate cutaneous nerves of the thigh")])

    larger = STEPS[: STEPS.index(found.size)]
    assert found.size < 15
    assert all(
        fit([name_block("Medial and intermediate cutaneous nerves of the thigh", sizes=(size,))])[
            0
        ].size
        is None
        for size in larger
    )


def test_a_word_wider_than_the_box_is_told_although_the_box_reports_its_own_width():
    (found,) = fit([name_block("Donaudampfschifffahrtsgesellschaft", sizes=(15.0,))])

    assert (found.size, found.reason) == (None, "word")


def test_too_many_lines_are_told():
    (found,) = fit([name_block("nerve " * 40)])

    assert (found.size, found.reason) == (None, "height")


def test_a_missing_glyph_is_told_with_the_character():
    (found,) = fit([name_block("Nervus 漢")])

    assert (found.size, found.reason, found.missing) == (None, "glyph", "漢")


def test_a_line_is_counted_down_to_its_descenders():
    # Source Sans 3: hhea ascender 1024, descender -400, 1000 units an em.
    (found,) = fit([Block("gpq", "sans", (10.0,), 50.0, 20.0)])

    assert found.height == pytest.approx(10 * 1.424 * 25.4 / 72, abs=0.002)


def test_balanced_lines_need_no_more_lines_in_a_narrower_box():
    text = "Posterior cutaneous nerve of the thigh"
    (balanced,) = fit([name_block(text, sizes=(11.5,))])
    (wide,) = fit([Block(text, "serif-semibold", (11.5,), 40.1, 15.4, leading=-0.2)])

    assert balanced.width < wide.width
    assert balanced.height == pytest.approx(wide.height)


def test_answers_come_in_the_order_asked_whatever_was_known_before():
    blocks = [name_block("Sural nerve"), name_block("Saphenous nerve"), name_block("Sural nerve")]

    found = fit(blocks)

    assert found[0] == found[2] != found[1]
