"""Jobs: one at a time, in order, stopped between blocks, taken up again."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from pathlib import Path
from threading import Event
from typing import Any

import pytest

from nervure.errors import BadUsage
from nervure.table import Job, Jobs, Progress, Stop, Storage, open_storage

WAIT = 20.0


@pytest.fixture
def storage(tmp_path: Path) -> Iterator[Storage]:
    with open_storage(tmp_path / "workbench.sqlite3") as opened:
        yield opened


@pytest.fixture
def run(storage: Storage) -> Iterator[Callable[..., Jobs]]:
    running = []

    def started(**works: Any) -> Jobs:
        jobs = Jobs(storage, works)
        jobs.start()
        running.append(jobs)
        return jobs

    yield started
    for jobs in running:
        jobs.close()


def wait_for(storage: Storage, job: Job, *states: str) -> Job:
    pause = Event()
    for _ in range(int(WAIT / 0.01)):
        found = storage.job(job.id)
        assert found is not None
        if found.state in states:
            return found
        pause.wait(0.01)
    raise AssertionError(f"the job stays {found.state}")


def test_a_job_gives_its_result(storage: Storage, run: Callable[..., Jobs]) -> None:
    jobs = run(check=lambda job, progress, stop: {"sentence": f"{job.options['games']} games."})

    job = wait_for(storage, jobs.add("barges", "check", {"games": 3}), "done")

    assert job.result == {"sentence": "3 games."}


def test_jobs_run_one_at_a_time_in_order(storage: Storage, run: Callable[..., Jobs]) -> None:
    seen: list[tuple[str, str]] = []

    def work(job: Job, progress: Progress, stop: Stop) -> dict[str, Any]:
        seen.append(("begin", job.options["name"]))
        Event().wait(0.02)
        seen.append(("end", job.options["name"]))
        return {}

    jobs = run(count=work)
    added = [jobs.add("barges", "count", {"name": name}) for name in "abc"]
    for job in added:
        wait_for(storage, job, "done")

    assert seen == [(what, name) for name in "abc" for what in ("begin", "end")]


def test_a_stopped_job_keeps_what_it_did_and_goes_on(
    storage: Storage, run: Callable[..., Jobs]
) -> None:
    begun = Event()

    def work(job: Job, progress: Progress, stop: Stop) -> dict[str, Any]:
        if job.goes_on:
            return {"went_on": True}
        begun.set()
        blocks = 0
        while not stop():
            blocks += 1
            progress("blocks", blocks, 0)
            Event().wait(0.005)
        return {"blocks": blocks}

    jobs = run(count=work)
    job = jobs.add("barges", "count")
    assert begun.wait(WAIT)
    jobs.stop(job.id)
    stopped = wait_for(storage, job, "stopped")
    assert stopped.result["blocks"] == stopped.done > 0
    assert not stopped.interrupted

    jobs.go_on(job.id)
    assert wait_for(storage, job, "done").result == {"went_on": True}


def test_a_job_that_waits_is_stopped_at_once(storage: Storage) -> None:
    jobs = Jobs(storage, {"count": lambda job, progress, stop: {}})  # never started
    job = jobs.add("barges", "count")

    jobs.stop(job.id)

    assert wait_for(storage, job, "stopped").state == "stopped"


def test_a_refusal_is_told_in_its_own_sentence(storage: Storage, run: Callable[..., Jobs]) -> None:
    def work(job: Job, progress: Progress, stop: Stop) -> dict[str, Any]:
        raise BadUsage("There is no style 'sprnter'.")

    jobs = run(count=work)

    job = wait_for(storage, jobs.add("barges", "count"), "failed")

    assert job.message == "There is no style 'sprnter'."


def test_a_mistake_of_the_program_ends_the_job_and_not_the_queue(
    storage: Storage, run: Callable[..., Jobs]
) -> None:
    def work(job: Job, progress: Progress, stop: Stop) -> dict[str, Any]:
        if job.options.get("bad"):
            raise ZeroDivisionError("secret detail")
        return {}

    jobs = run(count=work)
    bad, good = jobs.add("barges", "count", {"bad": True}), jobs.add("barges", "count")

    failed = wait_for(storage, bad, "failed")
    assert "secret detail" not in failed.message
    assert wait_for(storage, good, "done")


def test_the_same_job_is_not_queued_twice(storage: Storage) -> None:
    jobs = Jobs(storage, {"count": lambda job, progress, stop: {}})

    assert jobs.add("barges", "count").id == jobs.add("barges", "count").id
    assert jobs.add("leg", "count").id != jobs.add("barges", "count").id


def test_an_unknown_kind_is_refused(storage: Storage) -> None:
    with pytest.raises(BadUsage, match="no job of the kind"):
        Jobs(storage, {}).add("barges", "count")


def test_closing_stops_between_blocks(storage: Storage) -> None:
    begun = Event()

    def work(job: Job, progress: Progress, stop: Stop) -> dict[str, Any]:
        while not stop():
            begun.set()
            Event().wait(0.005)
        return {}

    jobs = Jobs(storage, {"count": work})
    jobs.start()
    job = jobs.add("barges", "count")
    assert begun.wait(WAIT)
    jobs.close()

    assert wait_for(storage, job, "stopped")
