"""The colours that Nervure prints with: each as seen, for one ink, and what it is for.

``HERBARIUM`` is the default set, searched against the floors below. ``COLOUR_SAFE`` takes its
six tier colours from a published colour-safe set, reordered dark to light.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from nervure.typeset import colour

TEXT_CONTRAST = 4.5  # WCAG 2.2, success criterion 1.4.3
GRAPHIC_CONTRAST = 3.0  # WCAG 2.2, success criterion 1.4.11
DIFFERENCE_FLOOR = 15.0  # CIEDE2000 between tiers, also under simulated deficiencies; our choice
DIFFERENCE_ERROR = 10.0  # below this two tiers are told apart by mark and word only; our choice
LIGHTNESS_FLOOR = 5.0  # step of L* between tiers, so that the order survives grey; our choice


@dataclass(frozen=True, slots=True)
class Palette:
    """One set of colours. ``tiers`` in the order of the six marks, root to branch."""

    name: str
    paper: str
    mount: str
    letter: str
    ink: str
    quiet: str
    vein: str
    leafred: str
    tiers: Mapping[str, str]

    def to_data(self) -> dict[str, object]:
        """Give the colours as plain data for a template."""
        tokens = ("paper", "mount", "letter", "ink", "quiet", "vein", "leafred")
        values = {token: getattr(self, token) for token in tokens}
        return values | {"name": self.name, "tiers": dict(self.tiers)}


HERBARIUM = Palette(
    name="herbarium",
    paper="#F8F3E7",
    mount="#EFE7D3",
    letter="#1E3328",
    ink="#1E3328",
    quiet="#566252",
    vein="#7A8867",
    leafred="#A9250C",
    tiers={
        "root": "#2C281B",
        "trunk": "#561F48",
        "division": "#1D529B",
        "cord": "#646952",
        "nerve": "#038A97",
        "branch": "#B6813E",
    },
)

# Petroff 2021, arXiv 2107.02270, set of six, "accessible color cycles".
COLOUR_SAFE = Palette(
    name="colour-safe",
    paper=HERBARIUM.paper,
    mount=HERBARIUM.mount,
    letter=HERBARIUM.letter,
    ink=HERBARIUM.ink,
    quiet=HERBARIUM.quiet,
    vein=HERBARIUM.vein,
    leafred=HERBARIUM.leafred,
    tiers={
        "root": "#7A21DD",
        "trunk": "#964A8B",
        "division": "#E42536",
        "cord": "#5790FC",
        "nerve": "#9C9CA1",
        "branch": "#F89C20",
    },
)

# One ink: an office printer's grey set. Tiers are then told apart by mark, pattern and word.
GREY = Palette(
    name="grey",
    paper="#FFFFFF",
    mount="#FFFFFF",
    letter="#000000",
    ink="#000000",
    quiet="#000000",
    vein="#000000",
    leafred="#000000",
    tiers=dict.fromkeys(HERBARIUM.tiers, "#000000"),
)

PALETTES: Mapping[str, Palette] = {
    palette.name: palette for palette in (HERBARIUM, COLOUR_SAFE, GREY)
}


@dataclass(frozen=True, slots=True)
class PaletteReport:
    """What is measured of a palette; differences in CIEDE2000, keyed by way of seeing."""

    differences: Mapping[str, float]
    lightness_step: float
    text_contrast: Mapping[str, float]
    graphic_contrast: Mapping[str, float]

    @property
    def smallest_difference(self) -> float:
        """The smallest difference over normal vision and the three deficiencies."""
        return min(self.differences.values())


def measure_palette(palette: Palette, tiers: Iterable[str] | None = None) -> PaletteReport:
    """Measure a palette: tier differences, lightness steps, contrast on paper and mount.

    Text contrast is that of letter, quiet and leafred on the worse of paper and mount;
    graphic contrast that of vein and the tiers on paper. ``tiers``: the marks in use, all six
    by default.
    """
    used = {mark: palette.tiers[mark] for mark in (palette.tiers if tiers is None else tiers)}
    colours = list(used.values())
    differences = {"normal": colour.smallest_difference(colours)}
    for deficiency in colour.DEFICIENCIES:
        differences[deficiency] = colour.smallest_difference(colours, deficiency)
    grounds = (palette.paper, palette.mount)
    return PaletteReport(
        differences=differences,
        lightness_step=colour.smallest_lightness_step(colours),
        text_contrast={
            token: min(colour.contrast(getattr(palette, token), ground) for ground in grounds)
            for token in ("letter", "quiet", "leafred")
        },
        graphic_contrast={
            "vein": colour.contrast(palette.vein, palette.paper),
            **{tier: colour.contrast(c, palette.paper) for tier, c in used.items()},
        },
    )
