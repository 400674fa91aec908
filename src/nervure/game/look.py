"""``[look]``: how the printed cards are made. `docs/print.md` says what each key means."""

from __future__ import annotations

from types import MappingProxyType
from typing import Annotated, Literal

from pydantic import AfterValidator, Field

from nervure.game._door import Settings

# Trim sizes in millimetres, width by height; trade practice, no standard fixes them.
NAMED_SIZES = MappingProxyType(
    {"poker": (63.0, 88.0), "bridge": (57.0, 89.0), "tarot": (70.0, 120.0)}
)


def _fits_a_card(size: object) -> object:
    if isinstance(size, tuple) and not (40 <= size[0] <= 150 and 60 <= size[1] <= 200):
        raise ValueError(size)
    return size


Millimetres = Annotated[float, Field(ge=0, le=10, strict=False)]
Side = Annotated[float, Field(strict=False)]


class Look(Settings):
    """``[look]``: lengths in millimetres.

    ``palette``: "herbarium" is drawn for this project; "colour-safe" takes the tier colours
    from a published set for readers with colour-vision deficiency.
    """

    size: Annotated[
        Literal["poker", "bridge", "tarot"] | tuple[Side, Side], AfterValidator(_fits_a_card)
    ] = "poker"
    bleed: Millimetres = 3.0
    safe: Millimetres = 4.0
    corner: Millimetres = 3.0
    palette: Literal["herbarium", "colour-safe"] = "herbarium"

    @property
    def trim(self) -> tuple[float, float]:
        """The size of a cut card, width and height in millimetres."""
        return NAMED_SIZES[self.size] if isinstance(self.size, str) else self.size
