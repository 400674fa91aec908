"""What is kept of the tables: storage that a crash cannot tear, and jobs that can go on."""

from nervure.table.jobs import Jobs, Progress, Stop, Work
from nervure.table.kept import Draft, Job, Kept, Move, Table
from nervure.table.storage import Storage, open_storage

__all__ = [
    "Draft",
    "Job",
    "Jobs",
    "Kept",
    "Move",
    "Progress",
    "Stop",
    "Storage",
    "Table",
    "Work",
    "open_storage",
]
