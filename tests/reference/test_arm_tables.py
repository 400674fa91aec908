"""The arm map's tables as a whole: no error, only warnings that are due, sizes of the job."""

import re
from collections import Counter
from pathlib import Path

import pytest

from nervure.anatomy import build, cut, map_faults
from nervure.game import check_game, read_game
from nervure.project import read_bundled_map, read_folder

# Due: two cord lesions known from one book, quoted from memory; the communication in the
# palm, whose fibres do mix in the nerve that they join; the rhomboids, see docs/map-arm.md.
DUE = {
    "lateral-cord-lesion": "from-memory",
    "medial-cord-lesion": "from-memory",
    "recurrent-median": "meet-and-part",
    "rhomboid-minor": "readings-contradict",
}


def test_the_map_has_no_error_and_only_the_warnings_that_are_due():
    map_ = read_bundled_map("arm")
    faults = map_faults(map_)
    rows = {
        row.place.at(None): name
        for name, row in (
            *((lesion.id, lesion) for lesion in map_.lesions),
            *((link.end, link) for link in map_.links),
            *((supply.target, supply) for supply in map_.supplies),
        )
    }
    # A meeting is reported at the first row that leaves the structure: named by where it meets.
    warned = {
        (fault.value if fault.code == "meet-and-part" else rows[fault.place.at(None)]): fault.code
        for fault in faults
    }

    assert [fault.message for fault in faults if fault.level == "error"] == []
    assert warned == DUE


def test_sizes_fit_a_deck_and_a_course():
    map_ = read_bundled_map("arm")
    kinds = Counter(target.kind for target in map_.targets)

    assert [tier.mark for tier in map_.tiers] == [
        "root",
        "trunk",
        "division",
        "cord",
        "nerve",
        "branch",
    ]
    assert len(map_.structures) <= 52
    assert kinds["muscle"] >= 48
    assert (kinds["skin"], kinds["reflex"], kinds["autonomic"]) == (14, 3, 1)
    assert kinds["potential"] >= 5
    assert len(map_.lesions) >= 25


def test_short_names_and_tests_fit_a_card():
    map_ = read_bundled_map("arm")

    assert [s.id for s in map_.structures if not 0 < len(s.short) <= 6] == []
    assert [t.id for t in map_.targets if not 0 < len(t.test) <= 115] == []
    assert len({s.short for s in map_.structures}) == len(map_.structures)


def test_every_row_that_asserts_anatomy_names_a_source():
    map_ = read_bundled_map("arm")
    rows = (*map_.links, *map_.supplies, *map_.targets, *map_.variants, *map_.lesions)

    assert [row.place for row in rows if not row.sources] == []


def test_every_named_lesion_takes_something_and_no_two_take_the_same():
    anatomy = build(read_bundled_map("arm"))
    taken = {
        lesion.id: tuple(sorted(cut(anatomy, lesion.id).shares.items()))
        for lesion in anatomy.map.lesions
    }

    assert all(any(share > 0 for _, share in shares) for shares in taken.values())
    assert len(set(taken.values())) == len(taken)


def test_muscles_offer_strands_of_two_to_six_cards():
    anatomy = build(read_bundled_map("arm"))
    lengths = Counter(
        len(pathway.structures)
        for pathway in anatomy.all_pathways
        if anatomy.target(pathway.target).kind == "muscle"
    )

    assert set(lengths) <= {1, 2, 3, 4, 5, 6}
    assert lengths[5] + lengths[6] > lengths[1] + lengths[2] + lengths[3]


def test_the_page_of_the_map_gives_its_present_figures():
    map_ = read_bundled_map("arm")
    page = (Path(__file__).parents[2] / "docs" / "map-arm.md").read_text("utf-8")
    kinds = Counter(target.kind for target in map_.targets)
    remembered = {source.id for source in map_.sources if source.how_obtained == "from memory"}
    figures = {
        "structures, links": [
            len(map_.structures),
            len(map_.links),
            sum(link.variant != "" for link in map_.links),
        ],
        "targets": [
            kinds["muscle"],
            kinds["muscle"] - 1,
            kinds["skin"],
            kinds["potential"],
            kinds["reflex"],
        ],
        "supplies, pathways": [len(map_.supplies), len(build(map_).all_pathways)],
        "variants, named lesions": [len(map_.variants), len(map_.lesions)],
        "sources": [
            len(map_.sources),
            len(map_.sources) - len(remembered),
            len(remembered),
            len(map_.readings),
            sum(reading.source in remembered for reading in map_.readings),
        ],
    }
    for name, numbers in figures.items():
        (line,) = re.findall(rf"^\| {name} \| (.+) \|$", page, re.MULTILINE)
        assert [int(found) for found in re.findall(r"\d+", line)] == numbers, name


@pytest.mark.parametrize(("variants", "exact"), [('"brachialis-single"', True), ("", False)])
def test_the_printed_deck_is_refereed_exactly_but_for_the_two_nerves_of_brachialis(
    tmp_path, variants, exact
):
    (tmp_path / "game.toml").write_text(
        f'title = "Arm"\n[map]\nname = "arm"\nvariants = [{variants}]\n[rules]\n'
        'targets = ["muscle", "skin"]\nparts_show = "links-and-targets"\n',
        "utf-8",
    )

    printed = check_game(read_game(read_folder(tmp_path))).printed_test

    assert printed.is_exact is exact
    untrue = {target for _, target in printed.passing_untrue.claim_examples}
    assert untrue == (set() if exact else {"brachialis"})
    assert printed.failing_true.claims == 0
