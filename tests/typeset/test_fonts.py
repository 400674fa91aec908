"""The vendored faces, with HarfBuzz as the independent reader."""

import pytest
import uharfbuzz

from nervure.typeset import fonts
from nervure.typeset.fit import Block, fit

FACES = list(fonts.FILES)


def harfbuzz_font(face):
    data = (fonts.FOLDER / fonts.FILES[face]).read_bytes()
    return uharfbuzz.Font(uharfbuzz.Face(data))


def harfbuzz_width_mm(text, face, size):
    font = harfbuzz_font(face)
    buffer = uharfbuzz.Buffer()
    buffer.add_str(text)
    buffer.guess_segment_properties()
    uharfbuzz.shape(font, buffer)
    units = sum(position.x_advance for position in buffer.glyph_positions)
    return units / font.face.upem * size * 25.4 / 72


@pytest.mark.parametrize("face", FACES)
def test_coverage_is_what_harfbuzz_reads_from_the_same_file(face):
    data = (fonts.FOLDER / fonts.FILES[face]).read_bytes()

    assert fonts.coverage(face) == frozenset(uharfbuzz.Face(data).unicodes)


@pytest.mark.parametrize("face", FACES)
def test_greek_arrows_and_accents_are_covered(face):
    assert fonts.missing_characters("αβγδ ΑΩ → ← ÄÖÜßéèñçøåłž – “” · ×", face) == ""


def test_what_is_missing_is_named_once_and_in_order():
    assert fonts.missing_characters("ab漢c字漢", "sans") == "漢字"


@pytest.mark.parametrize("face", FACES)
@pytest.mark.parametrize("text", ["Femoral nerve", "Tail of AVA", "flexor fibularis ff", "L4"])
def test_measured_widths_are_those_of_harfbuzz(face, text):
    size = 11.0
    (found,) = fit([Block(text, face, (size,), 200.0, 20.0, balanced=True)])

    assert found.width == pytest.approx(harfbuzz_width_mm(text, face, size), abs=0.001)


def test_every_face_has_its_licence_beside_it():
    licences = [path.read_text("utf-8") for path in fonts.FOLDER.glob("*-OFL.txt")]

    assert len(licences) == len(set(fonts.FAMILIES.values()))
    assert all("SIL OPEN FONT LICENSE Version 1.1" in text for text in licences)
