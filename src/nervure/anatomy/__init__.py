"""The map proved fibre by fibre: pathways, faults, lesions, localisation, evidence, layout."""

from nervure.anatomy.faults import map_faults
from nervure.anatomy.layout import Layout, lay_out
from nervure.anatomy.pathways import DISTAL_END, MOST_PATHWAYS, Anatomy, Pathway, build

__all__ = [
    "DISTAL_END",
    "MOST_PATHWAYS",
    "Anatomy",
    "Layout",
    "Pathway",
    "build",
    "lay_out",
    "map_faults",
]
