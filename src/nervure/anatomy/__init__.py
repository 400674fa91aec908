"""The map proved fibre by fibre: pathways, faults, lesions, localisation, evidence, layout."""

from nervure.anatomy.agreement import binary_table, cohens_kappa, jaccard
from nervure.anatomy.evidence import (
    Dispute,
    Evidence,
    Offer,
    PairAgreement,
    SupplyEvidence,
    evidence,
)
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
from nervure.anatomy.review import (
    Answer,
    Review,
    parse_review,
    read_review,
    review_rows,
    write_review,
)
from nervure.anatomy.sites import Site, levels_of, parse_site, sites_of

__all__ = [
    "DISTAL_END",
    "MOST_PATHWAYS",
    "Anatomy",
    "Answer",
    "Cut",
    "Dispute",
    "Evidence",
    "Layout",
    "Localization",
    "NextExamination",
    "Offer",
    "Outcome",
    "PairAgreement",
    "Pathway",
    "Review",
    "Site",
    "SiteGroup",
    "SiteRank",
    "SupplyEvidence",
    "binary_table",
    "build",
    "cohens_kappa",
    "cut",
    "evidence",
    "jaccard",
    "lay_out",
    "levels_of",
    "localize",
    "map_faults",
    "parse_review",
    "parse_site",
    "read_review",
    "review_rows",
    "sites_of",
    "write_review",
]
