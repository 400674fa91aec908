"""Options and arguments that do not fit: one sentence, exit code 2, nothing written."""

import json
from pathlib import Path
from typing import Any

import pytest

# Arguments after the folder's name G; what the sentence says.
BAD: list[tuple[list[str], str]] = [
    (["chek", "G"], "No such command 'chek'. Did you mean 'check'? See nervure --help."),
    (["check"], "Missing argument 'PROJECT'. See nervure check --help."),
    (["check", "G", "--jsn"], "No such option: --jsn"),
    (["check", "G", "--review", "none.csv"], "none.csv: there is no such file"),
    (["check", "G", "--review", "G"], "garden: this is a folder"),
    (["check", "G", "--variant", "third"], "'third' is no variant. Accepted: third-pipe."),
    (["check", "G", "--out", "G/deck.csv"], "is a file. Results go into a folder"),
    (["check", "G", "--out", "G/deck.csv/deep"], "is a file. Results go into a folder"),
    (["print", "G", "--out", "G/deck.csv"], "is a file. Results go into a folder"),
    (["playtest", "G", "--out", "G/deck.csv"], "is a file. Results go into a folder"),
    (["pathways", "G"], "Missing argument 'TARGET'"),
    (["pathways", "G", "rose-bedd"], "'rose-bedd' is no target. Accepted: rose-bed herb-bed."),
    (["cut", "G"], "Missing argument 'SITE…'"),
    (["cut", "G", "nort-pipe"], "'nort-pipe' is no"),
    (["cut", "G", "north-pipe@x"], "'x' is no level of north-pipe"),
    (["cut", "G", "north-pipe>south-pipe"], "north-pipe>south-pipe"),
    (["cut", "G", "north-pipe", "--via", "hose"], "'hose' is no"),
    (["cut", "G", "north-pipe", "--fibres", "w9"], "'w9' is no"),
    (["localize", "G"], "Missing option '--affected'"),
    (["localize", "G", "--affected", "bed"], "'bed' is no target"),
    (["localize", "G", "--affected", "rose-bed", "--spared", "rose-bed"], "rose-bed"),
    (["localize", "G", "--affected", "rose-bed", "--error", "2"], "2.0"),
    (["localize", "G", "--affected", "rose-bed", "--error", "nan"], "nan"),
    (["localize", "G", "--affected", "rose-bed", "--error", "a"], "'a' is no number."),
    (["playtest", "G", "--games", "many"], "'many' is no whole number."),
    (["playtest", "G", "--games", "0"], "games 0 does not fit. Accepted: 1 to"),
    (["playtest", "G", "--seed", "-1"], "seed -1 does not fit."),
    (["playtest", "G", "--workers", "0"], "workers 0 does not fit."),
    (["playtest", "G", "--precision", "0"], "precision 0.0 does not fit."),
    (["playtest", "G", "--precision", "nan"], "precision nan does not fit."),
    (["playtest", "G", "--minutes", "0"], "--minutes 0.0 does not fit."),
    (["playtest", "G", "--minutes", "nan"], "--minutes nan does not fit."),
    (["print", "G", "--since", "nothing.json"], "'nothing.json' is no manifest"),
    (["playtest", "G", "--players", "5"], "A table of 5: the rules of this game seat 2 to 2."),
    (["playtest", "G", "--seats", "builder"], "A table of 1:"),
    (["playtest", "G", "--seats", "builder,bilder"], "'bilder' is no style"),
    (["playtest", "G", "--seats", "builder,chance", "--players", "3"], "Leave one of the two out"),
    (["playtest", "G", "--more"], "leave --more out to start one."),
    (["print", "G", "--what", "posters"], "'posters' is nothing that can be printed."),
    (["print", "G", "--paper", "a3"], "'a3' is no paper size. Accepted: a4 letter."),
    (["print", "G", "--decks", "0"], "--decks 0 does not fit."),
    (["new", "N"], "Name one of --map (arm, gut, leg) or --from FILE."),
    (["new", "N", "--map", "leg", "--from", "t.csv"], "Name one of --map"),
    (["new", "N", "--map", "legg"], "'legg' is no bundled map. Accepted: arm gut leg."),
    (["new", "N", "--from", "none.csv"], "none.csv: there is no such file."),
    (["new", "N", "--from", "G"], "garden: this is a folder"),
    (["new", "N", "--from", "G/game.toml"], "game.toml"),
    (["new", "G", "--map", "leg"], "this is there already"),
    (["new", "G/deck.csv", "--map", "leg"], "deck.csv: this is a file"),
    (["demo", "G/deck.csv"], "name an empty or a new folder"),
    (["demo", "G/map"], "name an empty or a new folder"),
    (["demo", "N", "--game", "chess"], "'chess' is no bundled game."),
    (["demo", "G", "--game", "lock-keepers"], "holds another game, 'Garden'"),
]


def _ids(value: object) -> str:
    return " ".join(value) if isinstance(value, list) else ""


@pytest.mark.parametrize("as_json", [False, True], ids=["text", "json"])
@pytest.mark.parametrize(("arguments", "says"), BAD, ids=_ids)
def test_what_cannot_be_done_is_said_in_a_sentence_and_leaves_nothing(
    arguments: list[str],
    says: str,
    as_json: bool,
    run: Any,
    garden: Any,
    digests: Any,
    tmp_path: Path,
) -> None:
    folder = garden()
    before = digests(folder)
    places = {"G": str(folder), "N": str(tmp_path / "new")}
    given = [
        places.get(part.split("/")[0], part.split("/")[0]) + part[len(part.split("/")[0]) :]
        for part in arguments
    ]

    ran = run(*given, *(["--json"] if as_json else []))

    assert ran.code == 2
    if as_json:
        assert (ran.err, ran.data["ok"]) == ("", False)
        assert says in ran.data["error"]
    else:
        assert ran.out == ""
        assert says in ran.err
        lines = ran.err.splitlines()
        assert len(lines) == 1 or all(line.startswith("error ") for line in lines)
    assert "Traceback" not in ran.told
    assert "mistake of its own" not in ran.told
    assert digests(folder) == before
    assert not (folder / "out").exists()
    assert not (tmp_path / "new").exists()


def test_without_arguments_the_commands_are_listed(run: Any) -> None:
    ran = run()

    assert ran.code == 0
    assert "Commands:" in ran.out
    assert "playtest" in ran.out


def test_quiet_says_nothing_where_all_is_well(run: Any, garden: Any) -> None:
    ran = run("check", garden(), "--quiet")

    assert (ran.code, ran.told) == (0, "")


def test_quiet_says_faults_by_the_exit_code_alone_in_check(run: Any, garden: Any) -> None:
    ran = run("check", garden({"deck.csv": "card,copies\nw9,2\n"}), "--quiet")

    assert (ran.code, ran.out) == (1, "")


def test_a_mistake_of_our_own_is_owned_and_its_trace_kept_for_a_report(
    run: Any, garden: Any, monkeypatch: pytest.MonkeyPatch
) -> None:
    def broken(*_: object, **__: object) -> None:
        raise ZeroDivisionError("a slip")

    monkeypatch.setattr("nervure.api.Project.check", broken)

    ran = run("check", garden(), "--json")

    assert ran.code == 2
    assert "mistake of its own" in ran.data["error"]
    kept = Path(ran.data["error"].split(": ")[-1])
    assert "ZeroDivisionError: a slip" in kept.read_text("utf-8")
    kept.unlink()


def test_a_table_that_a_program_holds_open_is_told_as_such(
    run: Any, garden: Any, monkeypatch: pytest.MonkeyPatch
) -> None:
    def held(*_: object, **__: object) -> None:
        raise PermissionError(13, "Permission denied", "deck.csv")

    monkeypatch.setattr("nervure.api.Project.check", held)

    ran = run("check", garden())

    assert ran.code == 2
    assert ran.err.startswith("deck.csv: Permission denied. Close the program that holds it")


def test_letters_of_other_scripts_are_not_escaped_in_json(run: Any, garden: Any) -> None:
    ran = run("check", garden(name="花園"), "--json")

    assert "花園" in ran.out
    assert json.loads(ran.out)["ok"] is True
