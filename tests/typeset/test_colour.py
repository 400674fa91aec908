"""Colour arithmetic against published figures."""

import pytest

from nervure.typeset import colour

# Contrast ratios. W3C: definition of contrast ratio (21) and Understanding SC 1.4.11 (which cuts
# off after one digit); the others are widely published roundings of the same formula.
PUBLISHED_CONTRAST = [
    ("#000000", "#FFFFFF", 21.0, 0.0001),
    ("#FFF000", "#FFFFFF", 1.2, 0.05),
    ("#E5E5E5", "#6221EA", 5.65, 0.06),
    ("#767676", "#FFFFFF", 4.54, 0.005),
    ("#595959", "#FFFFFF", 7.0, 0.005),
    ("#2563EB", "#FFFFFF", 5.17, 0.005),
    ("#A0AEC0", "#1A1A2E", 7.56, 0.005),
]

# Sharma, Wu, Dalal 2005, Color Research and Application 30(1):21-30, Table 1.
SHARMA = [
    ((50.0, 2.6772, -79.7751), (50.0, 0.0, -82.7485), 2.0425),
    ((50.0, 3.1571, -77.2803), (50.0, 0.0, -82.7485), 2.8615),
    ((50.0, 2.8361, -74.0200), (50.0, 0.0, -82.7485), 3.4412),
    ((50.0, -1.3802, -84.2814), (50.0, 0.0, -82.7485), 1.0000),
    ((50.0, 0.0, 0.0), (50.0, -1.0, 2.0), 2.3669),
    ((50.0, 2.4900, -0.0010), (50.0, -2.4900, 0.0009), 7.1792),
    ((50.0, 2.4900, -0.0010), (50.0, -2.4900, 0.0011), 7.2195),
    ((50.0, 2.5, 0.0), (73.0, 25.0, -18.0), 27.1492),
    ((50.0, 2.5, 0.0), (58.0, 24.0, 15.0), 19.4535),
    ((60.2574, -34.0099, 36.2677), (60.4626, -34.1751, 39.4387), 1.2644),
    ((90.8027, -2.0831, 1.4410), (91.1528, -1.6435, 0.0447), 1.4441),
    ((2.0776, 0.0795, -1.1350), (0.9033, -0.0636, -0.5514), 0.9082),
]

# Machado 2009 matrices at severity 1, linear light, clipped, 8 bit; the Okabe-Ito colours,
# computed with colour-science 0.4.7 (matrix_cvd_Machado2009).
SIMULATED = [
    ("#0072B2", "#5375B5", "#3B67B1", "#008289"),
    ("#D55E00", "#817100", "#9E8C00", "#EB4050"),
    ("#009E73", "#9A9271", "#8A8676", "#009E92"),
    ("#56B4E9", "#9BB3EC", "#87A4E8", "#00C2C6"),
    ("#CC79A7", "#808BA9", "#9498A5", "#D6788A"),
    ("#F0E442", "#F8DC23", "#FCE34E", "#FFD4C5"),
]


@pytest.mark.parametrize(("one", "other", "ratio", "within"), PUBLISHED_CONTRAST)
def test_contrast_is_the_published_one(one, other, ratio, within):
    assert colour.contrast(one, other) == pytest.approx(ratio, abs=within)


def test_the_grey_that_just_fails_is_not_rounded_to_pass():
    assert colour.contrast("#777777", "#FFFFFF") < 4.5 < colour.contrast("#767676", "#FFFFFF")


def test_contrast_does_not_depend_on_the_order():
    assert colour.contrast("#A9250C", "#F8F3E7") == colour.contrast("#F8F3E7", "#A9250C")


@pytest.mark.parametrize(("one", "other", "difference"), SHARMA)
def test_ciede2000_is_that_of_sharma_table_1(one, other, difference):
    assert colour.ciede2000(one, other) == pytest.approx(difference, abs=0.00005)
    assert colour.ciede2000(other, one) == pytest.approx(difference, abs=0.00005)


@pytest.mark.parametrize(("seen", "protan", "deutan", "tritan"), SIMULATED)
def test_simulated_deficiencies_are_those_of_machado_2009(seen, protan, deutan, tritan):
    simulated = [colour.simulate(seen, deficiency) for deficiency in colour.DEFICIENCIES]

    for expected, found in zip((protan, deutan, tritan), simulated, strict=True):
        steps = zip(colour.channels(expected), colour.channels(found), strict=True)
        assert max(abs(a - b) for a, b in steps) <= 1


@pytest.mark.parametrize("deficiency", colour.DEFICIENCIES)
@pytest.mark.parametrize("grey", ["#000000", "#808080", "#FFFFFF"])
def test_greys_stay_grey(grey, deficiency):
    # Rows of the published matrices sum to 1.
    assert colour.simulate(grey, deficiency) == grey


def test_lab_of_white_and_of_a_primary():
    # CIE 15; sRGB red under D65 is L* 53.24, a* 80.09, b* 67.20 (widely published).
    assert colour.lab("#FFFFFF") == pytest.approx((100.0, 0.0, 0.0), abs=0.02)
    assert colour.lab("#FF0000") == pytest.approx((53.24, 80.09, 67.20), abs=0.02)
