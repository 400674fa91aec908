"""Page boxes: sizes, nesting, and that nothing else of the file changes."""

import io

import pikepdf
import pytest

from nervure.typeset.boxes import Boxes, with_boxes
from nervure.typeset.typesetter import Typesetter


@pytest.fixture(scope="module")
def plain():
    return Typesetter("typeset/specimen.typ").pdf({"size": 40, "marks": ["tier-nerve"] * 2})


def millimetres(box):
    return [float(value) * 25.4 / 72 for value in box]


def test_boxes_of_a_card_with_bleed_and_slug(plain):
    # 63 x 88 with 3 of bleed and 5 of slug, worked by hand: corners in mm.
    expected = {
        "/MediaBox": [0, 0, 79, 104],
        "/CropBox": [0, 0, 79, 104],
        "/BleedBox": [5, 5, 74, 99],
        "/TrimBox": [8, 8, 71, 96],
    }

    boxed = pikepdf.open(io.BytesIO(with_boxes(plain, Boxes(63, 88, 3, 5))))

    for page in boxed.pages:
        for name, corners in expected.items():
            assert millimetres(page[name]) == pytest.approx(corners, abs=0.01)


def test_version_tags_metadata_and_content_stay(plain):
    before = pikepdf.open(io.BytesIO(plain))
    after = pikepdf.open(io.BytesIO(with_boxes(plain, Boxes(63, 88, 3, 5))))

    assert after.pdf_version == before.pdf_version
    assert after.Root.Metadata.read_bytes() == before.Root.Metadata.read_bytes()
    assert after.Root.MarkInfo.Marked
    assert str(after.Root.Lang) == str(before.Root.Lang)
    for old, new in zip(before.pages, after.pages, strict=True):
        assert new.Contents.read_bytes() == old.Contents.read_bytes()
