"""Long work, one piece at a time, in the background: it can be watched, stopped and taken up.

A job is a row of the storage: queued, running, stopping, stopped, done or failed. Its work
is a function that reports progress and asks between blocks whether to stop. What a
process that died left running is stopped when the next one starts, and can go on.
"""

from __future__ import annotations

import logging
from collections.abc import Callable, Mapping
from threading import Event, Thread
from time import monotonic
from typing import Any

from nervure import words
from nervure.errors import BadUsage, NervureError
from nervure.table.kept import Job
from nervure.table.storage import Storage

Progress = Callable[[str, int, int], None]
"""Told what is being done, how much of it is done, and of how much; 0 of 0: not known."""

Stop = Callable[[], bool]
"""Asked between blocks; True ends the work, and what is done is kept."""

Work = Callable[[Job, Progress, Stop], Mapping[str, Any]]
"""Does a job and gives its result as plain data."""

NOTE_EVERY_SECONDS = 0.4  # of progress; each note is a write that waits for the disk

_log = logging.getLogger(__name__)


class Jobs:
    """The queue of one process.

    Parameters
    ----------
    storage
        Where the jobs stand.
    works
        By kind of job, what does it.
    """

    def __init__(self, storage: Storage, works: Mapping[str, Work]) -> None:
        self._storage, self._works = storage, dict(works)
        self._wake, self._closing = Event(), Event()
        self._thread: Thread | None = None

    @property
    def kinds(self) -> tuple[str, ...]:
        """The kinds of job that can be added."""
        return tuple(self._works)

    def start(self) -> None:
        """Begin to work on what is queued; what a dead process left running is stopped."""
        self._storage.interrupt_jobs()
        self._storage.delete_old_jobs()
        self._closing.clear()
        self._thread = Thread(target=self._run, name="nervure-jobs", daemon=True)
        self._thread.start()

    def close(self, seconds: float = 10.0) -> None:
        """Stop the job that runs, between two blocks, and end the thread."""
        self._closing.set()
        self._wake.set()
        if self._thread is not None:
            self._thread.join(seconds)
            self._thread = None

    def add(self, project: str, kind: str, options: Mapping[str, Any] | None = None) -> Job:
        """Queue a job; one of the same kind, project and options that waits or runs is it.

        Raises
        ------
        BadUsage
            No such kind of job.
        """
        if kind not in self._works:
            raise BadUsage(words.say("storage.no-kind", kind=kind))
        wanted = dict(options or {})
        for job in self._storage.jobs(project):
            if not job.is_over and (job.kind, dict(job.options)) == (kind, wanted):
                return job
        job = self._storage.add_job(project, kind, wanted)
        self._wake.set()
        return job

    def stop(self, job_id: int) -> None:
        """Ask a job to stop: at once if it waits, after its block if it runs."""
        if not self._storage.move_job(job_id, "stopped", was=("queued",)):
            self._storage.move_job(job_id, "stopping", was=("running",))

    def go_on(self, job_id: int) -> None:
        """Queue a stopped job again; its work is told that it goes on."""
        if self._storage.queue_again(job_id):
            self._wake.set()

    def _run(self) -> None:
        while not self._closing.is_set():
            job = self._storage.next_job()
            if job is None:
                self._wake.wait(1.0)
                self._wake.clear()
            elif self._storage.move_job(job.id, "running", was=("queued",)):
                self._do(job)

    def _do(self, job: Job) -> None:
        watch = _Watch(self._storage, job.id, self._closing)
        try:
            result = self._works[job.kind](job, watch.note, watch.is_asked_to_stop)
        except NervureError as problem:
            self._storage.end_job(job.id, "failed", message=str(problem))
        except Exception:  # a mistake of our own must not end the queue
            _log.exception("job %s failed", job.id)
            self._storage.end_job(job.id, "failed", message=words.say("storage.own-mistake"))
        else:
            watch.write()
            stopped = watch.was_asked and not result.get("complete", False)
            self._storage.end_job(job.id, "stopped" if stopped else "done", result)


class _Watch:
    """What a job's work reports to and asks."""

    def __init__(self, storage: Storage, job_id: int, closing: Event) -> None:
        self._storage, self._id, self._closing = storage, job_id, closing
        self._last: tuple[str, int, int] | None = None
        self._noted = 0.0
        self.was_asked = False

    def note(self, label: str, done: int, total: int) -> None:
        self._last = (label, done, total)
        if monotonic() - self._noted >= NOTE_EVERY_SECONDS:
            self.write()

    def write(self) -> None:
        if self._last is not None:
            self._storage.note_progress(self._id, *self._last)
            self._last = None
            self._noted = monotonic()

    def is_asked_to_stop(self) -> bool:
        job = self._storage.job(self._id)
        asked = self._closing.is_set() or job is None or job.state == "stopping"
        self.was_asked = self.was_asked or asked
        return asked
