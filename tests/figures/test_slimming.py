"""Slimmer SVG that draws the same."""

from lyewitness.figures.slimming import slimmed


def test_lines_lose_their_letters_and_curves_keep_them() -> None:
    """Only an L that follows M or L may go; behind a curve it would be read as a curve."""
    path = b'<path d="M 1.26 2.04 \nL 3.99 4.00 \nL 5 6 \nQ 7 8 9 10 \nL 11 12 \nL 13 14 \nz\n"/>'
    assert slimmed(path) == b'<path d="M 1.2 2 3.9 4 5 6 Q 7 8 9 10 L 11 12 13 14 z"/>'


def test_a_style_that_all_marks_share_is_said_once() -> None:
    """Marks of one style hand it to their group; marks of several keep their own."""
    one = (
        b'<g clip-path="url(#a)">\n <use x="1.23" style="fill: red"/>\n <use x="2" style="fill: red"/>\n</g>'
    )
    assert slimmed(one) == b'<g clip-path="url(#a)" style="fill: red"><use x="1.2"/><use x="2"/></g>'
    two = b'<g clip-path="url(#a)"><use x="1" style="fill: red"/><use x="2" style="fill: blue"/></g>'
    assert slimmed(two) == two


def test_sizes_of_letters_stay_exact() -> None:
    """Scales are no positions: they are not cut."""
    letter = b'<g transform="translate(1.234 5) scale(0.155 -0.155)"/>'
    assert slimmed(letter) == letter
