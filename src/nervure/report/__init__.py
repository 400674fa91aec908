"""Pages for people: what was proved, measured and made, with the map as a pressed leaf."""

from nervure.report.check_page import check_page
from nervure.report.check_record import CheckRecord, check_record
from nervure.report.leaf import Gauge, Leaf, LeafStyle, draw_leaf
from nervure.report.pages import Step, index_page, render
from nervure.report.playtest_page import playtest_page

__all__ = [
    "CheckRecord",
    "Gauge",
    "Leaf",
    "LeafStyle",
    "Step",
    "check_page",
    "check_record",
    "draw_leaf",
    "index_page",
    "playtest_page",
    "render",
]
