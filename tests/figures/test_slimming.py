"""Slimmer SVG that draws the same."""

import re
from base64 import b64decode, b64encode
from io import BytesIO
from xml.etree import ElementTree

import numpy as np
import pytest
from numpy.typing import NDArray
from PIL import Image

from lyewitness.figures.sheets import applied, finished, new_sheet
from lyewitness.figures.slimming import HALOED, slimmed, without_idle_channels
from lyewitness.figures.style import INK, look_from

SVG = "{http://www.w3.org/2000/svg}"
XLINK = "{http://www.w3.org/1999/xlink}"


def test_lines_lose_their_letters_and_curves_keep_them() -> None:
    """Only an L that follows M or L may go; behind a curve it would be read as a curve."""
    path = b'<path d="M 1.26 2.04 \nL 3.99 4.00 \nL 5 6 \nQ 7 8 9 10 \nL 11 12 \nL 13 14 \nz\n"/>'
    assert slimmed(path) == b'<path d="M1.2 2 3.9 4 5 6Q7 8 9 10L11 12 13 14z"/>'


def test_a_style_that_all_marks_share_is_said_once() -> None:
    """Marks of one style hand it to their group; marks of several keep their own."""
    one = (
        b'<g clip-path="url(#a)">\n <use x="1.23" style="fill: red"/>\n <use x="2" style="fill: red"/>\n</g>'
    )
    assert slimmed(one) == b'<g clip-path="url(#a)" style="fill: red"><use x="1.2"/><use x="2"/></g>'
    two = b'<g clip-path="url(#a)"><use x="1" style="fill: red"/><use x="2" style="fill: blue"/></g>'
    assert slimmed(two) == two


def test_sizes_of_letters_stay_exact() -> None:
    """Scales are no positions: they are not cut, the places beside them are."""
    letter = b'<g transform="translate(1.234 5) scale(0.155 -0.155)"/>'
    assert slimmed(letter) == b'<g transform="translate(1.2 5) scale(0.155 -0.155)"/>'


def test_words_with_a_rim_name_their_letters_twice_and_outline_them_once() -> None:
    """The rim lies below the words, is as wide in pixels as it should be, and no id stands twice."""
    sheet = new_sheet(120, 60)
    sheet.text(0.5, 0.5, "noon", gid=HALOED, fontsize=12, color=INK)
    with applied(look_from({})):
        svg, _ = finished(sheet, look_from({}))
    tree = ElementTree.fromstring(svg)
    ids = [one.get("id") for one in tree.iter() if one.get("id")]
    assert len(ids) == len(set(ids))
    assert HALOED not in ids
    uses = [one.get(f"{XLINK}href") for one in tree.iter(f"{SVG}use")]
    assert uses[:4] == uses[4:] == [uses[0], uses[1], uses[1], uses[0]]
    outlines = [one for one in tree.iter(f"{SVG}path") if one.get("id")]
    assert len(outlines) == 2
    width = float(re.search(rb"stroke-width: (\d+)", svg)[1])  # type: ignore[index]
    scale = float(re.search(rb"scale\(([\d.]+) -", svg)[1])  # type: ignore[index]
    assert width * scale * 0.015625 == pytest.approx(3.0, abs=0.01)


def test_a_grey_picture_needs_one_channel() -> None:
    """An opaque grey picture keeps its pixels in one channel; a coloured or clear one is left as it is."""
    grey = np.arange(64, dtype=np.uint8).reshape(8, 8)
    opaque = np.dstack([grey, grey, grey, np.full_like(grey, 255)])
    clear, coloured = opaque.copy(), opaque.copy()
    clear[0, 0, 3], coloured[0, 0, 0] = 0, 9
    with picture_in(without_idle_channels(drawing(opaque))) as picture:
        assert picture.mode == "L"
        assert np.array_equal(np.asarray(picture), grey)
    for pixels in (clear, coloured):
        assert without_idle_channels(drawing(pixels)) == drawing(pixels)


def drawing(pixels: NDArray[np.uint8]) -> bytes:
    """Return a drawing that holds a picture."""
    buffer = BytesIO()
    Image.fromarray(pixels).save(buffer, "PNG")
    return b'<image href="data:image/png;base64,%s"/>' % b64encode(buffer.getvalue())


def picture_in(svg: bytes) -> Image.Image:
    """Return the picture in a drawing."""
    return Image.open(BytesIO(b64decode(svg.partition(b"base64,")[2].partition(b'"')[0])))


def test_names_are_short_and_lead_where_they_led() -> None:
    """What the library names by a hash is numbered, its counted groups need no name, no reference is lost."""
    sheet = new_sheet(120, 60)
    axes = sheet.add_axes((0.1, 0.1, 0.8, 0.8))
    axes.plot([0, 1, 2], [0, 2, 1], marker="o", color=INK)
    axes.text(1, 1, "at noon", color=INK)
    with applied(look_from({})):
        svg, _ = finished(sheet, look_from({}))
    tree = ElementTree.fromstring(svg)
    named = {one.get("id", "") for one in tree.iter() if one.get("id")}
    led = {one.get(f"{XLINK}href", "#")[1:] for one in tree.iter(f"{SVG}use")}
    led |= {found.decode() for found in re.findall(rb"url\(#([^)]*)\)", svg)}
    assert led <= named
    assert all(re.fullmatch(r"[ln]\d+", name) for name in named), named
    letters = [one for one in tree.iter(f"{SVG}use") if one.get(f"{XLINK}href", "").startswith("#l")]
    assert not any(one.get("transform") for one in letters)
    places = [float(one.get("x", "0")) for one in letters[-len("at noon") :]]
    assert places == sorted(set(places)), places
