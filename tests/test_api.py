"""Results in Python: plain data, data frames, a notebook display, and the steps of `all`."""

import json
from collections.abc import Callable, Mapping
from pathlib import Path

import pytest

import nervure
from nervure import words
from nervure.api import Project, Result
from nervure.api.steps import PLANS, inputs_of
from nervure.errors import BadUsage, FaultyProject, UnknownName
from nervure.maps import game_folder
from nervure.typeset.palette import HERBARIUM

SMALL = {
    "seats": ["builder", "builder"],
    "games": 50,
}


@pytest.fixture(scope="module")
def leg() -> Project:
    return nervure.open(game_folder("giants-leg"))


@pytest.fixture
def locks(tmp_path: Path) -> Path:
    """Copy the small bundled game; Nervure's own files stay as they are."""
    started = tmp_path / "locks"
    started.mkdir()
    for file in ("game.toml", "deck.csv"):
        (started / file).write_bytes((game_folder("lock-keepers") / file).read_bytes())
    return started


def test_a_result_is_a_sentence_in_one_line(leg: Project) -> None:
    shown = repr(leg.cut(["deep-fibular-nerve"]))

    assert shown.startswith("<cut: Cut: Deep fibular nerve. ")
    assert "\n" not in shown


@pytest.mark.parametrize(
    "ask",
    [
        lambda leg: leg.pathways("soleus"),
        lambda leg: leg.cut(["l5"]),
        lambda leg: leg.localize(["tibialis-anterior"], ["tibialis-posterior"]),
    ],
    ids=["pathways", "cut", "localize"],
)
def test_the_data_of_a_result_are_plain(leg: Project, ask: Callable[[Project], Result]) -> None:
    result = ask(leg)

    assert json.loads(json.dumps(result.to_dict(), allow_nan=False)).keys() == result.data.keys()


def test_the_main_table_has_a_row_for_each_target_of_a_cut(leg: Project) -> None:
    table = leg.cut(["deep-fibular-nerve"]).to_polars()

    assert table.columns == ["target", "lost", "in_words"]
    assert table.height == len(leg.anatomy.map.targets)
    assert table["lost"].is_sorted(descending=True)


def test_a_table_without_rows_has_its_columns(tmp_path: Path) -> None:
    table = Result("check", {}, "Nothing.", (), ("file", "row")).to_polars()

    assert (table.height, table.columns) == (0, ["file", "row"])


def test_other_tables_are_asked_for_by_key(tmp_path: Path) -> None:
    result = nervure.open(game_folder("lock-keepers")).check(out=tmp_path)

    table = result.to_polars("targets")

    assert table["name"].to_list() == list(result["targets"])
    with pytest.raises(UnknownName, match=r"'tragets' is no table of this result\. Accepted: "):
        result.to_polars("tragets")


def test_a_notebook_shows_table_caution_and_the_house_colours(leg: Project) -> None:
    page = leg.cut(["l5"])._repr_html_()

    assert page.count("<tr") == 1 + 12
    assert words.say("caution.lesions") in page
    assert HERBARIUM.paper in page
    assert words.say("cli.more-rows", count=len(leg.anatomy.map.targets) - 12) in page


def test_a_notebook_says_what_is_lost_in_words(leg: Project) -> None:
    page = leg.cut(["l5"])._repr_html_()

    assert ">most</td>" in page
    assert "0.667" not in page


def test_a_notebook_shows_no_markup_of_the_author() -> None:
    page = Result("check", {}, "<b>&", ({"file": "<script>"},), ("file",))._repr_html_()

    assert "<script>" not in page
    assert "&lt;b&gt;&amp;" in page


def test_pathways_speak_of_no_lesion_and_carry_no_caution(leg: Project) -> None:
    assert leg.pathways("soleus").caution is None


def test_a_faulty_map_answers_no_question(tmp_path: Path, locks: Path) -> None:
    (locks / "deck.csv").write_text("card,copies\nnothing,2\n", "utf-8")

    with pytest.raises(FaultyProject, match=r"deck\.csv, row 2, column card: 'nothing'"):
        nervure.open(locks).cut(["coeliac"])


def test_an_unknown_variant_is_refused_with_those_that_there_are(locks: Path) -> None:
    with pytest.raises(UnknownName, match="'upside-down' is no variant"):
        nervure.open(locks, ["upside-down"]).pathways("stomach")


def test_asking_writes_nothing(locks: Path) -> None:
    nervure.open(locks).cut(["coeliac"])

    assert sorted(path.name for path in locks.iterdir()) == ["deck.csv", "game.toml"]


def test_a_filled_in_review_sheet_is_not_written_over(locks: Path) -> None:
    project = nervure.open(locks)
    first = project.check()
    sheet = locks / "out" / "review.csv"
    lines = sheet.read_text("utf-8").splitlines()
    lines[1] = lines[1].removesuffix(",,,") + ",x,,"
    sheet.write_text("\r\n".join(lines) + "\r\n", "utf-8")

    again = nervure.open(locks).check(review=sheet)

    assert (first["review_sheet_kept"], again["review_sheet_kept"]) == (False, True)
    assert again["review"]["agree"] == 1
    assert again["review"]["disagree"] == 0
    assert ",x,," in sheet.read_text("utf-8")


def test_a_blank_review_sheet_follows_the_map(locks: Path) -> None:
    nervure.open(locks).check()
    sheet = locks / "out" / "review.csv"
    sheet.write_text("\n".join(sheet.read_text("utf-8").splitlines()[:3]) + "\n", "utf-8")

    nervure.open(locks).check()

    assert len(sheet.read_text("utf-8").splitlines()) > 3


def test_new_needs_exactly_one_beginning(tmp_path: Path) -> None:
    for given in ({}, {"map_name": "leg", "table": "t.csv"}):
        with pytest.raises(BadUsage, match="Name one of --map"):
            nervure.new(tmp_path / "x", **given)


def test_a_demo_folder_that_was_edited_is_used_as_it_is(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(Project, "all", lambda self, **_: self.folder.title)
    folder = tmp_path / "demo"
    nervure.demo(folder, game="lock-keepers")
    game = folder / "game.toml"
    game.write_text(game.read_text("utf-8").replace("The Lock-Keepers", "My Locks"), "utf-8")

    assert nervure.demo(folder) == "My Locks"


# ------------------------------------------------------------------ steps of `all`


@pytest.fixture
def quick(monkeypatch: pytest.MonkeyPatch) -> None:
    """Let `all` play few games and print the backs only."""
    play, print_ = Project.playtest, Project.print
    monkeypatch.setattr(
        Project, "playtest", lambda self, **options: play(self, **SMALL, **options)
    )
    monkeypatch.setattr(
        Project, "print", lambda self, what, **options: print_(self, ["backs"], **options)
    )


def states(folder: Path) -> dict[str, str]:
    return {step["name"]: step["state"] for step in nervure.open(folder).all()["steps"]}


@pytest.mark.usefixtures("quick")
def test_a_second_time_every_step_is_kept(locks: Path) -> None:
    first = states(locks)
    made = {path: path.stat().st_mtime_ns for path in (locks / "out/print").iterdir()}

    second = states(locks)

    assert set(first.values()) == {"made"}
    assert set(second.values()) == {"kept"}
    assert made == {path: path.stat().st_mtime_ns for path in (locks / "out/print").iterdir()}


@pytest.mark.usefixtures("quick")
def test_a_file_that_is_gone_is_made_again(locks: Path) -> None:
    states(locks)
    (locks / "out/print/backs.pdf").unlink()

    assert states(locks) == {"check": "kept", "playtest": "kept", "print": "made"}


@pytest.mark.usefixtures("quick")
def test_after_an_error_and_its_mending_what_was_made_is_kept(locks: Path) -> None:
    deck = (locks / "deck.csv").read_bytes()
    states(locks)

    (locks / "deck.csv").write_text("card,copies\nnothing,2\n", "utf-8")
    broken = states(locks)
    (locks / "deck.csv").write_bytes(deck)
    mended = states(locks)

    assert broken == {"check": "made", "playtest": "refused", "print": "refused"}
    assert mended == {"check": "made", "playtest": "kept", "print": "kept"}


@pytest.mark.usefixtures("quick")
def test_a_damaged_record_of_the_steps_makes_all_anew(locks: Path) -> None:
    states(locks)
    (locks / "out/steps.json").write_text('{"check": 3}', "utf-8")

    assert set(states(locks).values()) == {"made"}


@pytest.mark.usefixtures("quick")
def test_the_index_page_links_what_was_made(locks: Path) -> None:
    result = nervure.open(locks).all()

    page = Path(result["index"]).read_text("utf-8")
    for step in result["steps"]:
        assert f'href="{step["files"][0]}"' in page
        assert (locks / "out" / step["files"][0]).is_file()


def changed(folder: Path, change: Callable[[Path], None]) -> set[str]:
    """Give the steps whose inputs a change touches."""
    before = {plan.name: inputs_of(folder, plan) for plan in PLANS}
    change(folder)
    return {plan.name for plan in PLANS if inputs_of(folder, plan) != before[plan.name]}


def _edit(file: str, old: str, new: str) -> Callable[[Path], None]:
    def change(folder: Path) -> None:
        path = folder / file
        text = path.read_text("utf-8")
        assert old in text
        path.write_text(text.replace(old, new), "utf-8")

    return change


def _write(file: str, text: str) -> Callable[[Path], None]:
    def change(folder: Path) -> None:
        (folder / file).parent.mkdir(parents=True, exist_ok=True)
        (folder / file).write_text(text, "utf-8")

    return change


EVERY = {"check", "playtest", "print"}
CHANGES: Mapping[str, tuple[Callable[[Path], None], set[str]]] = {
    "a rule": (_edit("game.toml", "hand = 5", "hand = 6"), EVERY),
    "the title": (_edit("game.toml", "The Lock-Keepers", "Locks"), EVERY),
    "copies": (_edit("deck.csv", "coeliac,4", "coeliac,3"), EVERY),
    "a goal": (_edit("game.toml", "[12, 35]", "[10, 35]"), {"check", "playtest"}),
    "a comment": (_edit("game.toml", "# A small game", "# The small game"), set()),
    "games on paper": (_write("plays.csv", "date,seats\n"), {"check", "playtest"}),
    "a picture": (_write("art/coeliac.svg", "<svg/>"), {"check", "print"}),
    "a story": (_write("text/story.md", "Once."), {"check", "print"}),
    "a result": (_write("out/check.html", "old"), set()),
    "a backup": (_write("text/story.md.bak", "Once."), set()),
    "a file of somebody else": (_write("notes.docx", "x"), set()),
}


@pytest.mark.parametrize("change", CHANGES)
def test_a_change_touches_the_steps_that_read_it(change: str, locks: Path) -> None:
    make, touched = CHANGES[change]

    assert changed(locks, make) == touched


def _without_files(result: Result) -> dict[str, object]:
    return {key: value for key, value in result.data.items() if key != "files"}


@pytest.mark.parametrize(
    "change",
    [
        _write("art/coeliac.svg", "<svg xmlns='http://www.w3.org/2000/svg'/>"),
        _write("text/story.md", "Once upon a lock."),
        _edit("game.toml", "[points]", '[tune]\n"rules.hand" = [3, 6]\n\n[points]'),
    ],
    ids=["a picture", "a story", "a range to tune"],
)
def test_what_the_playtest_does_not_read_changes_nothing_of_it(
    change: Callable[[Path], None], locks: Path
) -> None:
    before = nervure.open(locks).playtest(**SMALL)
    page = (locks / "out/playtest/index.html").read_bytes()
    change(locks)

    after = nervure.open(locks).playtest(**SMALL)

    assert _without_files(after) == _without_files(before)
    assert (locks / "out/playtest/index.html").read_bytes() == page


@pytest.mark.parametrize(
    "change",
    [
        _edit("game.toml", "[12, 35]", "[10, 35]"),
        _edit("game.toml", "[points]", '[tune]\n"rules.hand" = [3, 6]\n\n[points]'),
        _write("plays.csv", "date,seats,minutes,scores,winner,ended\n2026-05-01,2,25,,,\n"),
    ],
    ids=["a goal", "a range to tune", "a game on paper"],
)
def test_what_the_print_does_not_read_changes_nothing_of_it(
    change: Callable[[Path], None], locks: Path
) -> None:
    def printed() -> dict[str, bytes]:
        result = nervure.open(locks).print(["cards"])
        return {file["path"]: Path(file["path"]).read_bytes() for file in result["files"]}

    before = printed()
    change(locks)

    assert printed() == before
