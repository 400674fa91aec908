"""The printed files themselves, read back with libraries that did not make them."""

import json
from dataclasses import replace

import numpy as np
import pdfplumber
import pikepdf
import pypdfium2
import pytest
from PIL import Image

from nervure.errors import BadUsage
from nervure.press import deck as deck_module
from nervure.press.deck import print_deck
from nervure.typeset.palette import GREY

POINT = 25.4 / 72  # mm
ALL_PDF = ["cards.pdf", "backs.pdf", "sheets-a4.pdf", "proof-a4.pdf"]
# Trim of a card's page starts 3 mm of bleed and 5 mm of slug from its edges.
OUTSIDE = 8.0


def page_image(path, number, dots_per_inch=100):
    page = pypdfium2.PdfDocument(path)[number]
    return np.asarray(page.render(scale=dots_per_inch / 72).to_pil().convert("RGB"), dtype=int)


def glyph_boxes(path):
    """Give page, character and tight box in mm from the top left of the page."""
    document = pypdfium2.PdfDocument(path)
    for number, page in enumerate(document):
        height = page.get_height()
        text = page.get_textpage()
        for index in range(text.count_chars()):
            left, bottom, right, top = text.get_charbox(index)
            sign = text.get_text_range(index, 1)
            if right > left and top > bottom and sign.strip():
                box = (left, height - top, right, height - bottom)
                yield number, sign, tuple(value * POINT for value in box)


# --------------------------------------------------------------------- pages


def test_every_copy_has_a_page_and_the_backs_two(printed):
    pages = {file.path.name: file.pages for file in printed.files if file.kind != "preview"}

    # 5 parts twice, 2 wilds, 1 variant, 2 targets: 15 cards on 2 sheets, fronts and backs.
    assert pages["cards.pdf"] == 15
    assert pages["backs.pdf"] == 2
    assert pages["sheets-a4.pdf"] == 4


def test_stated_pages_are_those_of_the_files(printed):
    for file in printed.files:
        if file.path.suffix == ".pdf":
            assert len(pikepdf.open(file.path).pages) == file.pages


@pytest.mark.parametrize("name", ["cards.pdf", "backs.pdf"])
def test_boxes_are_exact_to_a_tenth_of_a_millimetre(printed_path, name):
    expected = {
        "/MediaBox": [0, 0, 79, 104],
        "/BleedBox": [5, 5, 74, 99],
        "/TrimBox": [8, 8, 71, 96],
    }

    document = pikepdf.open(printed_path[name])
    for page in document.pages:
        for box, corners in expected.items():
            found = [float(value) * POINT for value in page[box]]
            assert found == pytest.approx(corners, abs=0.1)


def test_sheets_are_as_large_as_their_paper(printed_path, small_deck, tmp_path):
    letter = print_deck(small_deck, tmp_path, ["sheets"], "letter").files[0].path

    for path, size in ((printed_path["sheets-a4.pdf"], (210, 297)), (letter, (215.9, 279.4))):
        document = pikepdf.open(path)
        for page in document.pages:
            width, height = (float(value) * POINT for value in page.MediaBox[2:])
            assert (width, height) == pytest.approx(size, abs=0.1)


@pytest.mark.parametrize("name", ALL_PDF)
def test_qpdf_finds_no_fault(printed_path, name):
    assert pikepdf.open(printed_path[name]).check_pdf_syntax() == []


# ---------------------------------------------------------- tags and metadata


@pytest.mark.parametrize("name", ALL_PDF)
def test_files_are_tagged_with_title_and_language(printed_path, name):
    document = pikepdf.open(printed_path[name])
    root = document.Root

    assert root.MarkInfo.Marked
    assert "/StructTreeRoot" in root
    assert str(root.Lang) == "en"
    assert root.ViewerPreferences.DisplayDocTitle


@pytest.mark.parametrize("name", ALL_PDF)
def test_files_say_that_they_follow_ua_1_and_a_2a(printed_path, name):
    with pikepdf.open(printed_path[name]).open_metadata() as metadata:
        assert metadata["pdfuaid:part"] == "1"
        assert (metadata["pdfaid:part"], metadata["pdfaid:conformance"]) == ("2", "A")
        assert metadata["dc:title"].startswith("Puppet")


@pytest.mark.parametrize("name", ALL_PDF)
@pytest.mark.parametrize("profile", ["ua1", "2a"])
def test_an_independent_checker_finds_no_failure(printed_path, name, profile):
    page = pytest.importorskip("page", reason="page-validation is not installed")

    report = page.validate_pdf(str(printed_path[name]), profile=profile)

    assert "0 failed" in str(report)


def test_the_checker_would_find_a_missing_language(printed_path, tmp_path):
    page = pytest.importorskip("page", reason="page-validation is not installed")
    document = pikepdf.open(printed_path["backs.pdf"])
    del document.Root.Lang
    document.save(tmp_path / "broken.pdf")

    report = page.validate_pdf(str(tmp_path / "broken.pdf"), profile="ua1")

    assert " 0 failed, " not in str(report)


def structure_types(element, found):
    if isinstance(element, pikepdf.Dictionary):
        if "/S" in element:
            found.append((str(element.S), str(element.get("/Alt", ""))))
        if "/K" in element:
            structure_types(element.K, found)
    elif isinstance(element, pikepdf.Array):
        for one in element:
            structure_types(one, found)
    return found


def test_every_card_is_a_heading_and_every_drawing_has_its_words(printed_path):
    document = pikepdf.open(printed_path["cards.pdf"])

    found = structure_types(document.Root.StructTreeRoot.K, [])

    assert sum(kind == "/H1" for kind, _ in found) == 15
    figures = [alternative for kind, alternative in found if kind == "/Figure"]
    assert figures
    assert all(figures)


# ---------------------------------------------------------------------- type


@pytest.mark.parametrize("name", ALL_PDF)
def test_only_the_vendored_faces_are_used_and_all_are_embedded(printed_path, name):
    fonts = {}
    document = pikepdf.open(printed_path[name])
    for page in document.pages:
        for font in page.Resources.get("/Font", {}).values():
            descriptor = font.DescendantFonts[0].FontDescriptor
            embedded = "/FontFile2" in descriptor or "/FontFile3" in descriptor
            fonts[str(descriptor.FontName).partition("+")[2]] = embedded

    assert fonts
    assert all(fonts.values())
    assert {face.partition("-")[0] for face in fonts} <= {"SourceSans3", "SourceSerif4"}


def test_no_type_is_smaller_than_7_pt(printed_path):
    with pdfplumber.open(printed_path["cards.pdf"]) as document:
        sizes = {round(char["size"], 2) for page in document.pages for char in page.chars}

    assert min(sizes) >= 7.0


def test_close_rows_alone_are_smaller_and_never_below_5_and_a_half_pt(change_card, tmp_path):
    from nervure.press.cards import Entry

    many = tuple(Entry(f"s{n}", "string", "tier-branch", "Abcdef") for n in range(17))
    deck = change_card("hip-cord", distal=many)
    only = replace(deck, cards=tuple(card for card in deck.cards if card.id == "hip-cord"))
    path = print_deck(only, tmp_path, ["cards"]).files[0].path

    with pdfplumber.open(path) as document:
        small = [c for c in document.pages[0].chars if c["size"] < 6.99]

    assert {round(char["size"], 2) for char in small} == {5.5}
    assert {char["text"] for char in small} <= set("AbcdefP12")


def test_all_glyphs_stand_inside_the_safe_margin(printed_path):
    outside = [
        (number, sign, box)
        for number, sign, box in glyph_boxes(printed_path["cards.pdf"])
        if box[0] < OUTSIDE + 4 - 0.01
        or box[1] < OUTSIDE + 4
        or box[2] > OUTSIDE + 63 - 4 + 0.01
        or box[3] > OUTSIDE + 88 - 4 + 0.01
    ]

    assert outside == []


def test_text_can_be_read_back(printed_path):
    pages = pypdfium2.PdfDocument(printed_path["cards.pdf"])
    text = " ".join(pages[4].get_textpage().get_text_range().split())

    assert "Cord of the hip" in text
    assert "A spare peg turns up: draw two cards." in text
    assert "0123abcd" in text.lower()


def test_foots_count_the_copies(printed_path):
    pages = pypdfium2.PdfDocument(printed_path["cards.pdf"])
    foots = [page.get_textpage().get_text_range().lower() for page in pages]

    assert "0123abcd · 1 · 1 of 2" in foots[0]
    assert "0123abcd · 1 · 2 of 2" in foots[1]


# -------------------------------------------------------------------- sheets


def mixed(small_deck):
    """Give nine cards whose backs differ from place to place and from their mirror image."""
    by_id = {card.id: replace(card, copies=1) for card in small_deck.cards}
    part, target = by_id["p1"], by_id["heel"]
    kinds = [part, target, target, part, part, target, target, part, part]
    cards = tuple(replace(card, id=f"{card.id}-{n}") for n, card in enumerate(kinds))
    known = small_deck.drawing.nodes
    nodes = tuple(replace(known[0], id=card.id) for card in cards if card.id.startswith("p1"))
    drawing = replace(small_deck.drawing, nodes=known + nodes)
    return replace(small_deck, cards=cards, drawing=drawing), [kind is target for kind in kinds]


@pytest.mark.parametrize(("paper", "left", "top"), [("a4", 10.5, 16.5), ("letter", 13.45, 7.7)])
def test_turned_on_the_long_edge_every_back_falls_on_its_front(
    small_deck, tmp_path, paper, left, top
):
    deck, is_target = mixed(small_deck)
    path = print_deck(deck, tmp_path, ["sheets"], paper).files[0].path
    front = page_image(path, 0)
    seen_through = page_image(path, 1)[:, ::-1]
    mm = 100 / 25.4

    for number, target in enumerate(is_target):
        row, column = divmod(number, 3)
        x0, y0 = left + 63 * column, top + 88 * row
        # Upper right corner of a target's front is its panel; a part's is paper.
        here = (int((y0 + 3) * mm), int((x0 + 60) * mm))
        panel = tuple(front[here]) == (0xEF, 0xE7, 0xD3)
        whole = seen_through[int((y0 + 2) * mm) : int((y0 + 86) * mm),
                             int((x0 + 2) * mm) : int((x0 + 61) * mm)]  # fmt: skip
        dark = whole.mean() < 140
        assert (panel, dark) == (target, target)


def test_the_printed_areas_of_both_sides_cover_one_another(printed_path):
    front = (page_image(printed_path["sheets-a4.pdf"], 0, 200) < 250).any(axis=2)
    back = (page_image(printed_path["sheets-a4.pdf"], 1, 200) < 250).any(axis=2)[:, ::-1]

    for side in (0, 1):
        rows_front, rows_back = (np.flatnonzero(page.any(axis=side)) for page in (front, back))
        assert abs(rows_front[0] - rows_back[0]) <= 1
        assert abs(rows_front[-1] - rows_back[-1]) <= 1


def test_cutting_marks_stand_outside_the_cards(printed_path):
    # A mark is pure black; no card holds that colour.
    page = page_image(printed_path["sheets-a4.pdf"], 0, 200)
    rows, columns = np.nonzero((page == 0).all(axis=2))
    x, y = columns * 25.4 / 200, rows * 25.4 / 200

    assert len(x)
    assert not ((x > 10.4) & (x < 199.6) & (y > 16.4) & (y < 280.6)).any()


def test_crosses_of_the_proof_meet(printed_path):
    front = page_image(printed_path["proof-a4.pdf"], 0, 200)
    back = page_image(printed_path["proof-a4.pdf"], 1, 200)[:, ::-1]
    mm = 200 / 25.4

    for column in range(4):
        for row in range(4):
            x, y = (10.5 + 63 * column) * mm, (16.5 + 88 * row) * mm
            window = np.s_[int(y) - 12 : int(y) + 13, int(x) - 12 : int(x) + 13]
            darkest = [np.unravel_index(side[window].sum(axis=2).argmin(), (25, 25))
                       for side in (front, back)]  # fmt: skip
            assert np.abs(np.subtract(*darkest)).max() <= 2


def test_the_ruler_of_the_proof_is_100_mm(printed_path):
    with pdfplumber.open(printed_path["proof-a4.pdf"]) as document:
        upright = [
            line["x0"] for line in document.pages[0].lines
            if abs(line["height"] * POINT - 4) < 0.01 and line["width"] < 0.01
        ]  # fmt: skip

    assert (max(upright) - min(upright)) * POINT == pytest.approx(100, abs=0.01)


# --------------------------------------------------------------------- backs


@pytest.mark.parametrize("number", [0, 1])
def test_backs_look_the_same_when_turned(printed_path, number):
    page = page_image(printed_path["backs.pdf"], number, 150)
    trimmed = page[int(8 * 150 / 25.4) + 1 : -int(8 * 150 / 25.4) - 1,
                   int(8 * 150 / 25.4) + 1 : -int(8 * 150 / 25.4) - 1]  # fmt: skip

    unlike = (np.abs(trimmed - trimmed[::-1, ::-1]) > 64).any(axis=2).mean()

    # Rounding at edges of a pixel grid that is not centred on the card.
    assert unlike < 0.05


def test_the_two_backs_differ_at_a_glance(printed_path):
    part, target = (page_image(printed_path["backs.pdf"], number).mean() for number in (0, 1))

    assert part - target > 60


# -------------------------------------------------------------- everything else


def test_the_same_deck_gives_the_same_bytes(printed, printed_path, small_deck, tmp_path):
    deck_module._typesetter.cache_clear()

    again = print_deck(small_deck, tmp_path, ["cards", "backs", "sheets"])

    for file in again.files:
        assert file.path.read_bytes() == printed_path[file.path.name].read_bytes()


def test_one_ink_is_one_ink(small_deck, tmp_path):
    result = print_deck(small_deck, tmp_path, ["contact"], grey=True, dots_per_inch=72)
    picture = np.asarray(Image.open(result.files[0].path).convert("RGB"), dtype=int)

    assert result.files[0].path.name == "contact-grey.png"
    assert np.ptp(picture, axis=2).max() == 0
    assert set(GREY.tiers.values()) == {"#000000"}


def test_previews_are_named_after_their_cards_and_have_their_size(printed):
    previews = {file.path.name: file.path for file in printed.files if file.kind == "preview"}

    assert set(previews) >= {"p1.png", "wild-any.png", "variant.png", "back-part.png"}
    with Image.open(previews["p1.png"]) as picture:
        assert picture.size == pytest.approx((63 / 25.4 * 100, 88 / 25.4 * 100), abs=1)
        assert picture.info["dpi"] == pytest.approx((100, 100), abs=0.01)


def test_refused_cards_are_left_out_and_nothing_else(change_card, tmp_path):
    result = print_deck(change_card("heel", short="Heelheel"), tmp_path, ["cards"])

    assert [one.to_dict()["field"] for one in result.refused] == ["short"]
    assert result.files[0].pages == 14


def test_a_card_larger_than_the_paper_refuses_the_sheets_only(small_deck, tmp_path):
    deck = replace(small_deck, width=150.0, height=280.0)

    result = print_deck(deck, tmp_path, ["sheets", "backs"], "letter")

    assert [(one.card, one.field) for one in result.refused] == [("sheets", "size")]
    assert [file.kind for file in result.files] == ["backs"]


@pytest.mark.parametrize(("what", "paper"), [(["carts"], "a4"), (["cards"], "a9")])
def test_an_unknown_wish_names_what_is_accepted(small_deck, tmp_path, what, paper):
    with pytest.raises(BadUsage, match="Accepted: "):
        print_deck(small_deck, tmp_path, what, paper)


def test_deck_text_stays_literal(change_card, tmp_path):
    name = '#text(red)[x] *y* $z$ \\ "q"'
    result = print_deck(change_card("heel", name=name), tmp_path, ["cards"])

    pages = pypdfium2.PdfDocument(result.files[0].path)
    text = " ".join(pages[13].get_textpage().get_text_range().split())

    assert "#text(red)[x] *y* $z$" in text


def test_the_manifest_lists_files_cards_and_licences(printed, small_deck):
    manifest = json.loads(printed.manifest.read_text("utf-8"))

    assert manifest["version"] == small_deck.version
    assert manifest["cards_in_a_deck"] == 15
    assert {file["path"] for file in manifest["files"]} >= {"cards.pdf", "previews/p1.png"}
    assert manifest["cards"][0] | {"digest": ""} == {
        "card": "p1",
        "number": 1,
        "copies": 2,
        "back": "part",
        "digest": "",
        "in_common_rows": [],
    }
    assert {font["licence"] for font in manifest["fonts"]} == {"SIL Open Font License 1.1"}


def test_a_card_has_a_new_digest_only_if_it_changed(change_card, printed, tmp_path):
    before = json.loads(printed.manifest.read_text("utf-8"))["cards"]
    result = print_deck(change_card("heel", name="Heel of oak"), tmp_path, ["backs"])
    after = json.loads(result.manifest.read_text("utf-8"))["cards"]

    changed = [a["card"] for a, b in zip(before, after, strict=True) if a["digest"] != b["digest"]]

    assert changed == ["heel"]


def test_nothing_is_written_beside_the_files_told(printed):
    told = {file.path for file in printed.files} | {printed.manifest}
    folder = printed.manifest.parent

    assert {path for path in folder.rglob("*") if path.is_file()} == told


def test_since_a_manifest_only_changed_cards_are_printed(change_card, printed, tmp_path):
    deck = change_card("heel", name="Heel of oak")

    result = print_deck(deck, tmp_path, ["cards", "previews"], since=printed.manifest)

    names = {file.path.stem for file in result.files if file.kind == "preview"}
    assert names == {"heel", "back-part", "back-target"}
    assert result.files[0].pages == 1
    assert len(json.loads(result.manifest.read_text("utf-8"))["cards"]) == 10


def test_since_the_same_deck_nothing_is_printed(small_deck, printed, tmp_path):
    result = print_deck(small_deck, tmp_path, ["cards"], since=printed.manifest)

    assert result.files == ()
    assert "nothing is printed" in result.notes[-1]


@pytest.mark.parametrize("text", ["", "{}", "[1]", '{"cards": [1]}'])
def test_what_is_no_manifest_is_told(small_deck, tmp_path, text):
    path = tmp_path / "old.json"
    path.write_text(text)

    with pytest.raises(BadUsage, match=r"'old\.json'"):
        print_deck(small_deck, tmp_path, ["cards"], since=path)


@pytest.mark.parametrize(
    "changes",
    [
        {"bleed": 0.0},
        {"bleed": 10.0, "corner": 0.0},
        {"safe": 6.0},
        {"language": "de"},
        {"title": 'A "quoted" \\ title'},
        {"targets_show": "pathways"},
        {"targets_show": "way"},
        {"targets_show": "nothing"},
    ],
    ids=str,
)
def test_unusual_settings_are_printed(small_deck, tmp_path, changes):
    deck = replace(small_deck, **changes)

    result = print_deck(deck, tmp_path, ["cards", "backs", "sheets"])

    assert [file.pages for file in result.files] == [15, 2, 4, 2]
    document = pikepdf.open(result.files[0].path)
    trim = document.pages[0].TrimBox
    assert (float(trim[2]) - float(trim[0])) * POINT == pytest.approx(63, abs=0.1)


def test_a_map_of_one_tier_is_printed(small_deck, tmp_path):
    pegs = tuple(node for node in small_deck.drawing.nodes if node.tier == "peg")
    cards = tuple(
        replace(card, proximal=(), distal=(), near=())
        for card in small_deck.cards
        if card.id in ("p1", "p2")
    )
    drawing = replace(small_deck.drawing, nodes=pegs, veins=())
    deck = replace(small_deck, tiers=small_deck.tiers[:1], cards=cards, drawing=drawing)

    assert print_deck(deck, tmp_path, ["cards"]).files[0].pages == 4
