"""What an SVG of another hand may hold, after the attack surface that SVG 2 describes."""

import pytest

from nervure.press.safe_svg import what_bites

SVG = "http://www.w3.org/2000/svg"


@pytest.mark.parametrize(
    ("inside", "bite"),
    [
        ("<script/>", "<script>"),
        ('<rect onclick="x"/>', "onclick="),
        ('<a href="javascript:x"/>', "javascript:x"),
        ('<image href="x.png"/>', "x.png"),
        ('<image href=""/>', "href="),
        ('<image href="data:image/svg+xml,x"/>', "data:image/svg+xml,x"),
        ('<rect fill="URL(x.svg#a)"/>', "URL(x.svg#a)"),
        ("<style>@IMPORT 'x'</style>", "@IMPORT 'x'"),
        ('<rect style="fill:\\75rl(x)"/>', "\\75rl(x)"),
        ("<animate/>", "<animate>"),
        ("<foreignObject/>", "<foreignobject>"),
    ],
)
def test_what_runs_or_points_outside_is_named(inside: str, bite: str) -> None:
    assert what_bites(f'<svg xmlns="{SVG}">{inside}</svg>') == bite


@pytest.mark.parametrize(
    "inside",
    [
        '<use href="#a"/>',
        '<rect fill="url(#a)" filter="url( \'#b\' )"/>',
        '<image href="data:image/png;base64,AA=="/>',
        "<style>a{fill:url(#a)}</style>",
        '<text transform="translate(2 3)">on(x) url of script</text>',
        "<metadata><x>1</x></metadata>",
    ],
)
def test_what_holds_everything_passes(inside: str) -> None:
    assert what_bites(f'<svg xmlns="{SVG}">{inside}</svg>') is None


@pytest.mark.parametrize("text", ["", "<svg", "<svg/><svg/>", "<p/>", "<!DOCTYPE svg><svg/>"])
def test_what_is_no_plain_svg_bites(text: str) -> None:
    assert what_bites(text)
