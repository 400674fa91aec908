"""The map proved fibre by fibre: pathways, faults, lesions, localisation, evidence, layout."""

from nervure.anatomy.faults import map_faults
from nervure.anatomy.layout import Layout, lay_out
from nervure.anatomy.lesions import Cut, cut
from nervure.anatomy.localization import (
    Localization,
    NextExamination,
    Outcome,
    SiteGroup,
    SiteRank,
    localize,
)
from nervure.anatomy.pathways import DISTAL_END, MOST_PATHWAYS, Anatomy, Pathway, build
from nervure.anatomy.sites import Site, levels_of, parse_site, sites_of

__all__ = [
    "DISTAL_END",
    "MOST_PATHWAYS",
    "Anatomy",
    "Cut",
    "Layout",
    "Localization",
    "NextExamination",
    "Outcome",
    "Pathway",
    "Site",
    "SiteGroup",
    "SiteRank",
    "build",
    "cut",
    "lay_out",
    "levels_of",
    "localize",
    "map_faults",
    "parse_site",
    "sites_of",
]
