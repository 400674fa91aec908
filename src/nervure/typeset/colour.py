"""Colour arithmetic: contrast, colour difference, and simulated colour vision deficiency.

Comes in: colours as ``#RRGGBB``. Goes out: numbers and colours of the same form. Nothing
here knows which colours Nervure uses; that is `nervure.typeset.palette`.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterable
from typing import Literal

Triple = tuple[float, float, float]
Deficiency = Literal["protan", "deutan", "tritan"]
DEFICIENCIES: tuple[Deficiency, ...] = ("protan", "deutan", "tritan")

# Machado, Oliveira, Fernandes 2009, IEEE TVCG 15(6):1291-1298, doi 10.1109/TVCG.2009.113,
# severity 1.0, from the authors' supplement; rows act on linear RGB.
_MACHADO: dict[Deficiency, tuple[Triple, Triple, Triple]] = {
    "protan": (
        (0.152286, 1.052583, -0.204868),
        (0.114503, 0.786281, 0.099216),
        (-0.003882, -0.048116, 1.051998),
    ),
    "deutan": (
        (0.367322, 0.860646, -0.227968),
        (0.280085, 0.672501, 0.047413),
        (-0.011820, 0.042940, 0.968881),
    ),
    "tritan": (
        (1.255528, -0.076749, -0.178779),
        (-0.078411, 0.930809, 0.147602),
        (0.004733, 0.691367, 0.303900),
    ),
}
# IEC 61966-2-1 sRGB primaries with white point D65, linear RGB to XYZ.
_TO_XYZ: tuple[Triple, Triple, Triple] = (
    (0.4124564, 0.3575761, 0.1804375),
    (0.2126729, 0.7151522, 0.0721750),
    (0.0193339, 0.1191920, 0.9503041),
)
_WHITE: Triple = (0.95047, 1.0, 1.08883)


def channels(colour: str) -> tuple[int, int, int]:
    """Give red, green and blue of ``#RRGGBB``, 0 to 255.

    >>> channels("#1E3328")
    (30, 51, 40)
    """
    digits = colour.removeprefix("#")
    return int(digits[0:2], 16), int(digits[2:4], 16), int(digits[4:6], 16)


def linear(colour: str) -> Triple:
    """Give linear light of an sRGB colour, each 0 to 1 (IEC 61966-2-1)."""
    red, green, blue = (_to_linear(value / 255) for value in channels(colour))
    return red, green, blue


def _to_linear(value: float) -> float:
    return value / 12.92 if value <= 0.04045 else ((value + 0.055) / 1.055) ** 2.4


def _from_linear(value: float) -> float:
    return value * 12.92 if value <= 0.0031308 else 1.055 * value ** (1 / 2.4) - 0.055


def luminance(colour: str) -> float:
    """Give relative luminance, 0 black to 1 white (WCAG 2.2)."""
    red, green, blue = linear(colour)
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


def contrast(one: str, other: str) -> float:
    """Give the contrast ratio of two colours, 1 to 21 (WCAG 2.2), never rounded.

    >>> round(contrast("#000000", "#FFFFFF"), 4)
    21.0
    """
    low, high = sorted((luminance(one), luminance(other)))
    return (high + 0.05) / (low + 0.05)


def simulate(colour: str, deficiency: Deficiency) -> str:
    """Give how a colour looks with one kind of dichromacy: linear light, matrix, clip, 8 bit."""
    light = linear(colour)
    seen = (
        sum(factor * value for factor, value in zip(row, light, strict=True))
        for row in _MACHADO[deficiency]
    )
    levels = (round(255 * _from_linear(min(1.0, max(0.0, value)))) for value in seen)
    return "#" + "".join(f"{level:02X}" for level in levels)


def lab(colour: str) -> Triple:
    """Give CIE L*a*b* of an sRGB colour under D65."""
    light = linear(colour)
    x, y, z = (
        sum(factor * value for factor, value in zip(row, light, strict=True)) / white
        for row, white in zip(_TO_XYZ, _WHITE, strict=True)
    )
    fx, fy, fz = (_cube_root(value) for value in (x, y, z))
    return 116 * fy - 16, 500 * (fx - fy), 200 * (fy - fz)


def _cube_root(value: float) -> float:
    return value ** (1 / 3) if value > 216 / 24389 else (24389 / 27 * value + 16) / 116


def ciede2000(one: Triple, other: Triple) -> float:
    """Give the CIEDE2000 difference of two L*a*b* colours, with kL = kC = kH = 1.

    References
    ----------
    Sharma, Wu, Dalal 2005, Color Research and Application 30(1):21-30,
    doi 10.1002/col.20070, equations 2 to 22; the letters are theirs.
    """
    (l1, a1, b1), (l2, a2, b2) = one, other
    c_mean7 = ((math.hypot(a1, b1) + math.hypot(a2, b2)) / 2) ** 7
    g = 0.5 * (1 - math.sqrt(c_mean7 / (c_mean7 + 25**7)))
    a1, a2 = (1 + g) * a1, (1 + g) * a2
    c1, c2 = math.hypot(a1, b1), math.hypot(a2, b2)
    h1, h2 = _hue(a1, b1), _hue(a2, b2)

    step = 0.0 if c1 * c2 == 0 else (h2 - h1 + 180) % 360 - 180
    if c1 * c2 != 0 and h2 - h1 == 180:
        step = 180.0
    d_l, d_c = l2 - l1, c2 - c1
    d_h = 2 * math.sqrt(c1 * c2) * math.sin(math.radians(step) / 2)

    l_mean, c_mean, h_mean = (l1 + l2) / 2, (c1 + c2) / 2, _mean_hue(h1, h2, c1 * c2)
    t = (
        1
        - 0.17 * _cos(h_mean - 30)
        + 0.24 * _cos(2 * h_mean)
        + 0.32 * _cos(3 * h_mean + 6)
        - 0.20 * _cos(4 * h_mean - 63)
    )
    s_l = 1 + 0.015 * (l_mean - 50) ** 2 / math.sqrt(20 + (l_mean - 50) ** 2)
    s_c, s_h = 1 + 0.045 * c_mean, 1 + 0.015 * c_mean * t
    r_c = 2 * math.sqrt(c_mean**7 / (c_mean**7 + 25**7))
    r_t = -r_c * math.sin(math.radians(60 * math.exp(-(((h_mean - 275) / 25) ** 2))))
    return math.sqrt(
        (d_l / s_l) ** 2 + (d_c / s_c) ** 2 + (d_h / s_h) ** 2 + r_t * (d_c / s_c) * (d_h / s_h)
    )


def _cos(degrees: float) -> float:
    return math.cos(math.radians(degrees))


def _hue(a: float, b: float) -> float:
    return 0.0 if a == b == 0 else math.degrees(math.atan2(b, a)) % 360


def _mean_hue(h1: float, h2: float, chroma_product: float) -> float:
    if chroma_product == 0:
        return h1 + h2
    if abs(h1 - h2) <= 180:
        return (h1 + h2) / 2
    return (h1 + h2 + 360) / 2 if h1 + h2 < 360 else (h1 + h2 - 360) / 2


def smallest_difference(colours: Iterable[str], deficiency: Deficiency | None = None) -> float:
    """Give the smallest CIEDE2000 difference between any two colours of a set.

    With a deficiency the colours are compared as they look with it. Infinite for fewer
    than two colours.
    """
    seen = [lab(simulate(colour, deficiency) if deficiency else colour) for colour in colours]
    pairs = itertools.combinations(seen, 2)
    return min((ciede2000(one, other) for one, other in pairs), default=math.inf)


def smallest_lightness_step(colours: Iterable[str]) -> float:
    """Give the smallest step of L* between neighbours of a set sorted by lightness."""
    lightness = sorted(lab(colour)[0] for colour in colours)
    return min((b - a for a, b in itertools.pairwise(lightness)), default=math.inf)
