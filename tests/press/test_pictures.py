"""Authors' pictures: three kinds are taken, and nothing that points outside itself."""

import io
from dataclasses import replace

import pytest
from PIL import Image

from nervure.press.deck import print_deck
from nervure.press.pictures import BadPictureError, picture_as_svg
from nervure.press.setting import set_deck

SVG = '<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 10 10">{}</svg>'


def raster(kind, size=(40, 20)):
    written = io.BytesIO()
    Image.new("RGB", size, "#A9250C").save(written, kind)
    return written.getvalue()


@pytest.mark.parametrize(("kind", "size"), [("PNG", (40, 20)), ("JPEG", (33, 57))])
def test_a_raster_is_wrapped_in_its_own_size(tmp_path, kind, size):
    path = tmp_path / "heel.picture"
    path.write_bytes(raster(kind, size))

    text = picture_as_svg(path)

    assert f'viewBox="0 0 {size[0]} {size[1]}"' in text
    assert f"data:image/{kind.lower()};base64," in text


def test_an_svg_that_holds_everything_passes_as_it_is(tmp_path):
    path = tmp_path / "heel.svg"
    text = SVG.format('<path id="a" d="M 0 0 L 9 9"/><use href="#a"/>')
    path.write_text(text)

    assert picture_as_svg(path) == text


@pytest.mark.parametrize(
    "inside",
    [
        '<image href="http://example.org/x.png"/>',
        '<image xlink:href="../secret.png"/>',
        '<rect style="fill:url(other.svg#a)"/>',
        '<style>@import "other.css";</style>',
        "<script>1</script>",
        "<foreignObject/>",
    ],
)
def test_an_svg_that_points_outside_is_refused(tmp_path, inside):
    path = tmp_path / "heel.svg"
    path.write_text(SVG.format(inside))

    with pytest.raises(BadPictureError) as refused:
        picture_as_svg(path)

    assert refused.value.code == "picture-outside"


@pytest.mark.parametrize("data", [b"GIF89a", b"", b"\xff\xd8\xff", b"plain text", b"\xff\xfe\x00"])
def test_what_is_no_picture_is_refused(tmp_path, data):
    path = tmp_path / "heel.png"
    path.write_bytes(data)

    with pytest.raises(BadPictureError) as refused:
        picture_as_svg(path)

    assert refused.value.code == "picture-kind"


def test_a_missing_file_is_refused_not_raised(change_card, tmp_path):
    setting = set_deck(change_card("heel", picture=tmp_path / "heel.png"))

    assert [(one.card, one.field) for one in setting.refused] == [("heel", "picture")]


def test_a_picture_is_printed_on_its_card(change_card, tmp_path):
    path = tmp_path / "heel.png"
    path.write_bytes(raster("PNG", (400, 400)))
    deck = change_card("heel", picture=path)
    only = replace(deck, cards=tuple(card for card in deck.cards if card.id == "heel"))

    result = print_deck(only, tmp_path / "out", ["previews"], dots_per_inch=100)

    picture = Image.open(result.files[0].path).convert("RGB")
    # The middle of the slot: x 15.8 to 41.2, y 4.5 to 31 mm.
    assert picture.getpixel((int(28.5 / 25.4 * 100), int(17.7 / 25.4 * 100))) == (169, 37, 12)
