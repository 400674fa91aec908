"""Long work is stopped by an interrupt; what is finished stays, and one sentence says so."""

import json
import signal
from typing import Any

import pytest

from nervure import playtest, press, words

run_playtest = playtest.run


@pytest.fixture
def interrupted(monkeypatch: pytest.MonkeyPatch) -> None:
    """Interrupt a playtest just as it begins."""

    def begin(*arguments: Any, **options: Any) -> Any:
        signal.raise_signal(signal.SIGINT)
        return run_playtest(*arguments, **options)

    monkeypatch.setattr(playtest, "run", begin)


@pytest.mark.usefixtures("interrupted")
def test_a_stopped_playtest_keeps_its_games_and_says_how_to_go_on(run: Any, garden: Any) -> None:
    folder = garden()

    ran = run("playtest", folder, "--games", "9000", "--json")

    assert ran.code == 130
    assert ran.data["stopped"] is True
    assert 0 < ran.data["games"] < 9000
    assert words.say("cli.stopped-playtest") in ran.err
    kept = json.loads((folder / "out/playtest/result.json").read_text("utf-8"))
    assert kept["games"] == ran.data["games"]


def test_a_stopped_playtest_goes_on_with_more(
    run: Any, garden: Any, monkeypatch: pytest.MonkeyPatch, interrupted: None
) -> None:
    folder = garden()
    stopped = run("playtest", folder, "--games", "3000", "--json")
    monkeypatch.setattr(playtest, "run", run_playtest)

    further = run("playtest", folder, "--games", "3000", "--more", "--json")

    assert further.code == 0
    assert further.data["games"] == sum(step["games"] for step in further.data["plan"])
    # 3000 games and six pairs of four styles with a quarter of that each, beside the rest.
    assert further.data["games"] > 3000 + 6 * 750 + stopped.data["games"]


@pytest.mark.usefixtures("interrupted")
def test_stopping_all_keeps_the_check_and_leaves_the_rest_for_the_next_time(
    run: Any, garden: Any
) -> None:
    folder = garden()

    ran = run("all", folder, "--json")

    assert ran.code == 130
    assert [step["state"] for step in ran.data["steps"]] == ["made", "stopped", "stopped"]
    assert list(json.loads((folder / "out/steps.json").read_text("utf-8"))) == ["check"]
    assert words.say("cli.stopped") in ran.err


def test_what_cannot_stop_between_stops_at_once(
    run: Any, garden: Any, monkeypatch: pytest.MonkeyPatch
) -> None:
    def interrupt(*_: object, **__: object) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr(press, "print_deck", interrupt)

    ran = run("print", garden())

    assert (ran.code, ran.out) == (130, "")
    assert ran.err == words.say("cli.stopped") + "\n"


def test_the_second_interrupt_stops_at_once(
    run: Any, garden: Any, monkeypatch: pytest.MonkeyPatch
) -> None:
    def interrupt(*_: object, **__: object) -> None:
        signal.raise_signal(signal.SIGINT)
        signal.raise_signal(signal.SIGINT)

    monkeypatch.setattr(playtest, "run", interrupt)

    ran = run("playtest", garden())

    assert ran.code == 130
    assert ran.err.splitlines() == [words.say("cli.stopping"), words.say("cli.stopped")]


def test_a_limit_of_minutes_ends_after_the_first_block_and_is_no_failure(
    run: Any, garden: Any
) -> None:
    ran = run("playtest", garden(), "--games", "9000", "--minutes", "0.000001", "--json")

    assert ran.code == 0
    assert ran.data["stopped"] is True
    assert ran.data["games"] > 0


def test_the_engine_says_that_it_is_prepared_before_it_is(
    run: Any, garden: Any, monkeypatch: pytest.MonkeyPatch
) -> None:
    def prepare(*_: object, on_prepare: Any, **__: object) -> None:
        on_prepare()
        raise KeyboardInterrupt

    monkeypatch.setattr(playtest, "run", prepare)

    ran = run("playtest", garden(), "--json")

    assert ran.out == ""
    assert ran.err.startswith(words.say("playtest.preparing"))
