"""People at a table: games that survive a crash, a referee, records; storage and jobs."""

from nervure.table.course import Attempt, Entry
from nervure.table.debrief import debrief, measured_pace, turn_seconds, yardsticks
from nervure.table.design import copy_design
from nervure.table.jobs import Jobs, Progress, Stop, Work
from nervure.table.kept import Draft, Job, Kept, Move, Table
from nervure.table.record import Record, parse_record, replay, write_record
from nervure.table.referee import Explanation, Referee
from nervure.table.seat_view import deck_view, seat_view
from nervure.table.seats import SeatPlan
from nervure.table.storage import Storage, open_storage
from nervure.table.table_game import TableGame
from nervure.table.tables import Tables

__all__ = [
    "Attempt",
    "Draft",
    "Entry",
    "Explanation",
    "Job",
    "Jobs",
    "Kept",
    "Move",
    "Progress",
    "Record",
    "Referee",
    "SeatPlan",
    "Stop",
    "Storage",
    "Table",
    "TableGame",
    "Tables",
    "Work",
    "copy_design",
    "debrief",
    "deck_view",
    "measured_pace",
    "open_storage",
    "parse_record",
    "replay",
    "seat_view",
    "turn_seconds",
    "write_record",
    "yardsticks",
]
