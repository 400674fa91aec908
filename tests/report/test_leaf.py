"""The map as a leaf: nothing stands over anything, everything can be found and read out."""

from __future__ import annotations

import re
from collections import Counter
from functools import cache
from itertools import combinations, pairwise
from xml.etree import ElementTree

import pytest

from nervure.anatomy import Anatomy, build
from nervure.project import read_bundled_map
from nervure.report.leaf import Gauge, Leaf, LeafStyle, draw_leaf
from nervure.report.type_widths import SANS, SANS_BOLD, lines_within, shortened, width

MAPS = ("leg", "arm", "gut")
SVG = "{http://www.w3.org/2000/svg}"


@cache
def anatomy_of(name: str, with_variants: bool = False) -> Anatomy:
    map_ = read_bundled_map(name)
    return build(map_, [row.id for row in map_.variants[:1]] if with_variants else ())


@cache
def leaf_of(name: str) -> Leaf:
    return draw_leaf(anatomy_of(name), LeafStyle(title=name))


def parsed(leaf: Leaf) -> ElementTree.Element:
    return ElementTree.fromstring(leaf.svg.replace("<svg ", f'<svg xmlns="{SVG[1:-1]}" ', 1))


def text_of(part: ElementTree.Element, kind: str) -> list[str]:
    return [
        "".join(found.itertext())
        for found in part.iter(f"{SVG}text")
        if kind in (found.get("class") or "").split()
    ]


def drawn_lines(leaf: Leaf) -> list[tuple[str, float, float, float, float]]:
    """Give each line of text as drawn: words, left, top, right, bottom by the face's widths."""
    root = parsed(leaf)
    hidden = {
        id(text)
        for group in root.iter(f"{SVG}g")
        if group.get("class") == "ondemand"
        for text in group.iter(f"{SVG}text")
    }
    found = []
    for text in root.iter(f"{SVG}text"):
        kinds = (text.get("class") or "").split()
        if id(text) not in hidden and {"name", "who"} & set(kinds):
            lines = [text] if "who" in kinds else list(text.iter(f"{SVG}tspan"))
            for line in lines:
                words, size = "".join(line.itertext()), 14.0 if "who" in kinds else 13.0
                wide = width(words, size, SANS_BOLD if "origin" in kinds else SANS)
                x, y = float(line.get("x", "0")), float(line.get("y", "0"))
                left = x if "who" in kinds else x - wide / 2
                # From memory: capitals of this face reach 0.66 em, tails 0.2 em.
                found.append((words, left, y - 0.66 * size, left + wide, y + 0.2 * size))
    return found


@pytest.mark.parametrize("name", MAPS)
def test_no_two_lines_of_text_overlap(name: str) -> None:
    lines = drawn_lines(leaf_of(name))

    overlapping = [
        (one[0], other[0])
        for one, other in combinations(lines, 2)
        if min(one[3], other[3]) - max(one[1], other[1]) > 0.5
        and min(one[4], other[4]) - max(one[2], other[2]) > 0.5
    ]

    assert len(lines) > len(anatomy_of(name).map.structures)
    assert not overlapping


@pytest.mark.parametrize("name", MAPS)
def test_no_line_of_text_leaves_the_plate(name: str) -> None:
    leaf = leaf_of(name)

    for _, left, top, right, bottom in drawn_lines(leaf):
        assert left >= 0
        assert top >= 0
        assert right <= leaf.width
        assert bottom <= leaf.height


@pytest.mark.parametrize("name", MAPS)
def test_nearly_all_structures_have_a_label_and_the_rest_show_theirs_on_demand(name: str) -> None:
    leaf = leaf_of(name)

    on_demand = [part for part in parsed(leaf).iter(f"{SVG}g") if part.get("class") == "ondemand"]

    assert len(leaf.unlabelled) <= len(anatomy_of(name).map.structures) // 10
    assert len(on_demand) == len(leaf.unlabelled)


@pytest.mark.parametrize("name", MAPS)
def test_rows_of_targets_are_at_least_fifteen_pixels_apart(name: str) -> None:
    teeth = [
        float(part.get("cy", "0"))
        for part in parsed(leaf_of(name)).iter(f"{SVG}circle")
        if part.get("class") == "tooth"
    ]

    assert len(teeth) == len(anatomy_of(name).map.targets)
    assert min(below - above for above, below in pairwise(teeth)) >= 15


@pytest.mark.parametrize("name", MAPS)
def test_names_at_the_margin_end_before_their_fibres_begin(name: str) -> None:
    for row in parsed(leaf_of(name)).iter(f"{SVG}a"):
        who, carried = row.findall(f"{SVG}text")
        size = 15 if len(anatomy_of(name).map.targets) <= 28 else 14
        ends = float(who.get("x", "0")) + width("".join(who.itertext()), size)
        assert ends < float(carried.get("x", "0"))


@pytest.mark.parametrize("name", MAPS)
def test_each_fibre_of_each_link_and_supply_is_one_line(name: str) -> None:
    anatomy = anatomy_of(name)
    pairs: dict[tuple[str, str], set[str]] = {}
    for link in anatomy.links:
        pairs.setdefault((link.start, link.end), set()).update(anatomy.carried(link))
    for supply in anatomy.supplies:
        pair = (supply.through, supply.target)
        pairs.setdefault(pair, set()).update(anatomy.supplied(supply))

    (lanes,) = [
        part for part in parsed(leaf_of(name)).iter(f"{SVG}g") if part.get("class") == "lanes"
    ]

    assert len(lanes) == sum(map(len, pairs.values())) + len(anatomy.origins)


def test_a_target_lights_as_many_lanes_as_its_pathways_have_different_steps() -> None:
    anatomy = anatomy_of("leg")
    leaf = leaf_of("leg")
    titles = [row.findtext(f"{SVG}title") or "" for row in parsed(leaf).iter(f"{SVG}a")]
    place = next(i for i, told in enumerate(titles) if told.startswith("Tibialis anterior:"))
    steps = {
        (start, end, pathway.origin)
        for pathway in anatomy.pathways("tibialis-anterior")
        for start, end in zip(
            pathway.structures, (*pathway.structures[1:], pathway.target), strict=True
        )
    }

    lit = [
        part
        for part in parsed(leaf).iter(f"{SVG}path")
        if f"p{place}" in (part.get("class") or "").split()
        and "v0" not in (part.get("class") or "").split()
    ]

    assert len(lit) == len(steps)


def test_main_fibres_are_bold_and_disputed_ones_have_a_question_mark() -> None:
    doubted = frozenset({("tibialis-anterior", "l5")})

    leaf = draw_leaf(anatomy_of("leg"), LeafStyle(doubted=doubted))
    marked = [
        part for part in parsed(leaf).iter(f"{SVG}tspan") if "doubted" in (part.get("class") or "")
    ]

    assert [part.text for part in marked] == ["L5?"]
    main = Counter(
        part.text
        for part in parsed(leaf).iter(f"{SVG}tspan")
        if "main" in (part.get("class") or "")
    )
    expected = sum(
        len(anatomy_of("leg").main_fibres_of(row.id)) for row in anatomy_of("leg").map.targets
    )
    assert main.total() == expected


def test_what_only_a_variant_brings_is_dashed_with_its_percentage() -> None:
    with_variant = draw_leaf(anatomy_of("gut", with_variants=True))

    dashed = [
        part
        for part in parsed(with_variant).iter(f"{SVG}path")
        if "variant" in (part.get("class") or "").split()
    ]
    (variant,) = [row for row in anatomy_of("gut").map.variants[:1]]

    assert dashed
    assert f"{variant.seen_in_percent} %" in text_of(parsed(with_variant), "rate")
    assert not re.search(r'class="f [^"]*variant', leaf_of("gut").svg)


def test_the_drawing_says_what_it_is_to_a_screen_reader() -> None:
    root = parsed(leaf_of("gut"))

    (picture,) = [part for part in root.iter(f"{SVG}g") if part.get("role") == "img"]
    ids = {part.get("id") for part in root.iter()}

    assert picture.get("aria-labelledby") in ids
    assert picture.get("aria-describedby") in ids
    assert all(row.findtext(f"{SVG}title") for row in root.iter(f"{SVG}a"))
    assert not list(picture.iter(f"{SVG}a"))  # links stand beside the picture, not in it


@pytest.mark.parametrize("name", MAPS)
def test_every_id_stands_once(name: str) -> None:
    ids = re.findall(r' id="([^"]+)"', leaf_of(name).svg)

    assert len(ids) == len(set(ids))


def test_a_gauge_draws_a_bar_for_each_figure() -> None:
    gauge = Gauge(
        "times in one game", {"tibialis-anterior": (0.5, "0.62"), "soleus": (1.0, "1.2")}
    )

    leaf = draw_leaf(anatomy_of("leg"), LeafStyle(gauge=gauge))
    bars = [
        float(part.get("width", "0"))
        for part in parsed(leaf).iter(f"{SVG}rect")
        if part.get("class") == "gauge"
    ]

    assert sorted(bars) == pytest.approx([max(bars) / 2, max(bars)])
    assert set(text_of(parsed(leaf), "figure")) == {"0.62", "1.2"}


def test_widths_are_those_of_the_face_that_printing_uses() -> None:
    # Reference: the advance widths that fontTools' and HarfBuzz' tables give for the same
    # face, read here with uharfbuzz from the file that printing uses.
    hb = pytest.importorskip("uharfbuzz")
    from importlib import resources

    fonts = resources.files("nervure.typeset") / "fonts"
    for face, file in (
        (SANS, "SourceSans3_400Regular.ttf"),
        (SANS_BOLD, "SourceSans3_600SemiBold.ttf"),
    ):
        font = hb.Font(hb.Face((fonts / file).read_bytes()))
        for text in ("Tibial nerve", "L2 L3 L4", "Äußerer Wadenbeinnerv"):
            buffer = hb.Buffer()
            buffer.add_str(text)
            buffer.guess_segment_properties()
            hb.shape(font, buffer, {"kern": False, "liga": False})
            shaped = sum(position.x_advance for position in buffer.glyph_positions)
            assert width(text, 1000, face) == pytest.approx(shaped, abs=len(text))


@pytest.mark.parametrize(
    ("text", "lines"),
    [
        ("Sural nerve", ("Sural nerve",)),
        ("Superficial fibular nerve", ("Superficial", "fibular nerve")),
        ("Posterior femoral cutaneous nerve", ("Posterior femoral", "cutaneous nerve")),
    ],
)
def test_long_names_break_where_the_longer_line_is_shortest(
    text: str, lines: tuple[str, ...]
) -> None:
    assert lines_within(text, 96, 13) == lines


def test_a_name_too_long_for_its_row_ends_in_an_ellipsis_within_the_width() -> None:
    cut = shortened("Flexor digitorum profundus, index and middle", 200, 13.5)

    assert cut.endswith("…")
    assert width(cut, 13.5) <= 200
