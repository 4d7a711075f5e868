"""Group colours that anyone can tell apart, and themes that say what is wrong with them."""

import tomllib
from itertools import combinations
from pathlib import Path

import numpy as np
import pytest
from matplotlib.lines import Line2D
from matplotlib.markers import MarkerStyle
from matplotlib.path import Path as Outline

from lyewitness.figures.style import (
    LABEL_FONTS,
    MARKS,
    Look,
    Palette,
    label_file,
    look_from,
    shipped_look,
)
from lyewitness.shipped import shipped_folder
from lyewitness.words.problems import StudyFolderError
from tests.figures.colour_vision import VISION, ciede2000, contrast, lab, linear, seen_difference

THEMES = ("daylight", "journal")


def theme_look(name: str) -> Look:
    """Return the look of a shipped theme."""
    return look_from(
        tomllib.loads((shipped_folder("themes") / name / "look.toml").read_text(encoding="utf-8"))
    )


PALETTES = [
    pytest.param(getattr(theme_look(name), ground), id=f"{name}-{ground}")
    for name in THEMES
    for ground in ("light", "dark")
]


@pytest.mark.parametrize("palette", PALETTES)
def test_colours_stand_out_from_the_ground(palette: Palette) -> None:
    """Groups have a contrast of 3 : 1, words of 4.5 : 1 (WCAG 2.2, 1.4.11 and 1.4.3)."""
    for colour in palette.groups:
        assert contrast(colour, palette.ground) >= 3.0
    for colour in (palette.ink, palette.muted, palette.accent):
        assert contrast(colour, palette.ground) >= 4.5


@pytest.mark.parametrize("vision", VISION)
@pytest.mark.parametrize("palette", PALETTES)
def test_groups_can_be_told_apart_by_every_eye(palette: Palette, vision: str) -> None:
    """Any two of the first six groups differ by CIEDE2000 ≥ 15, whatever the reader's colour vision."""
    for one, other in combinations(palette.groups[:6], 2):
        assert seen_difference(one, other, vision) >= 15.0, (one, other)


@pytest.mark.parametrize("name", THEMES)
def test_groups_can_be_told_apart_in_grey(name: str) -> None:
    """No two of the first six groups share a mark or a line, so that colour is never needed."""
    look = theme_look(name)
    inks = [look.group(index) for index in range(6)]
    outlines = {_outline(ink.mark).tobytes() for ink in inks}
    assert len(outlines) == 6
    assert len({ink.dashes for ink in inks}) == 6
    assert len({ink.colour for ink in inks}) == 6


def _outline(mark: str) -> np.ndarray:
    drawn = MarkerStyle(mark)
    path: Outline = drawn.get_transform().transform_path(drawn.get_path())
    return np.round(np.asarray(path.vertices), 3)


@pytest.mark.parametrize(
    ("one", "other", "expected"),
    [
        ((50.0, 2.6772, -79.7751), (50.0, 0.0, -82.7485), 2.0425),
        ((50.0, -1.3802, -84.2814), (50.0, 0.0, -82.7485), 1.0000),
        ((50.0, 2.4900, -0.0010), (50.0, -2.4900, 0.0009), 7.1792),
        ((50.0, 2.5, 0.0), (73.0, 25.0, -18.0), 27.1492),
        ((50.0, 2.5, 0.0), (56.0, -27.0, -3.0), 31.9030),
        ((60.2574, -34.0099, 36.2677), (60.4626, -34.1751, 39.4387), 1.2644),
        ((2.0776, 0.0795, -1.1350), (0.9033, -0.0636, -0.5514), 0.9082),
    ],
)
def test_colour_difference_is_the_published_one(
    one: tuple[float, ...], other: tuple[float, ...], expected: float
) -> None:
    """Test pairs of Sharma, Wu and Dalal 2005, table 1 (values from memory)."""
    assert ciede2000(np.array(one), np.array(other)) == pytest.approx(expected, abs=6e-5)
    assert ciede2000(np.array(other), np.array(one)) == pytest.approx(expected, abs=6e-5)


def test_grey_stays_grey_to_every_eye() -> None:
    """White and grey look the same with every deficiency, and black on white is 21 : 1 (WCAG)."""
    for matrix in VISION.values():
        assert np.allclose(matrix @ linear("#808080"), linear("#808080"), atol=1e-5)
    assert contrast("#000000", "#ffffff") == pytest.approx(21.0)
    assert lab(linear("#ffffff")) == pytest.approx([100, 0, 0], abs=0.01)


def test_a_theme_may_state_a_single_colour() -> None:
    """What a theme leaves out is inherited."""
    look = look_from({"light": {"ink": "#101010"}})
    assert look.light.ink == "#101010"
    assert look.light.ground == shipped_look()["light"]["ground"]
    assert look.dark.ink == shipped_look()["dark"]["ink"]


def test_every_mistake_of_a_theme_is_named_at_once() -> None:
    """Wrong colours, unknown keys and sections, and absurd sizes come together, each with its place."""
    wrong = {
        "light": {"ink": "black", "paper": "#ffffff", "groups": ["#000000", "red"]},
        "colours": {"ink": "#000000"},
        "marks": {"shapes": ["o", "heart"]},
        "type": {"label_px": -3},
    }
    with pytest.raises(StudyFolderError) as caught:
        look_from(wrong)
    told = {problem.place: problem.expected for problem in caught.value.problems}
    assert told == {
        "light.ink": "a colour as #rrggbb",
        "light.groups": "colours as #rrggbb",
        "light.paper": "one of ground, ink, muted, faint, accent, groups",
        "marks.shapes": "a list of matplotlib markers",
        "type.label_px": "a number of pixels above zero",
        "colours": "one of light, dark, marks, type, lines, size",
    }


@pytest.mark.parametrize(
    ("wrong", "place"),
    [
        ({"light": 3}, "light"),
        ({"type": {"font": "No Such Face"}}, "type.font"),
        ({"type": {"label_px": True}}, "type.label_px"),
        ({"marks": {"dashes": []}}, "marks.dashes"),
        ({"size": {"width_px": "wide"}}, "size.width_px"),
    ],
)
def test_a_mistake_of_a_theme_has_its_place(wrong: dict[str, object], place: str) -> None:
    """A value of the wrong kind is told with section and key, never as a failure of the program."""
    with pytest.raises(StudyFolderError) as caught:
        look_from(wrong)
    assert [problem.place for problem in caught.value.problems] == [place]


def test_light_and_dark_need_as_many_groups() -> None:
    """A group must have a colour on both grounds."""
    with pytest.raises(StudyFolderError, match="1 light and 6 dark"):
        look_from({"light": {"groups": ["#000000"]}})


def test_more_groups_than_colours_still_differ() -> None:
    """The seventh group takes up the first colour again, with another mark."""
    look = look_from({})
    assert look.group(6).colour == look.group(0).colour
    assert look.group(6).mark != look.group(0).mark


def test_shipped_looks_are_different() -> None:
    """The two themes share neither ground nor group colours nor typeface."""
    daylight, journal = (theme_look(name) for name in THEMES)
    assert not set(daylight.light.groups) & set(journal.light.groups)
    assert daylight.light.ground != journal.light.ground
    assert daylight.label_font != journal.label_font


def test_look_files_lie_where_the_program_finds_them() -> None:
    """Each shipped theme has its look.toml."""
    for name in THEMES:
        assert Path(shipped_folder("themes") / name / "look.toml").is_file()


def test_every_mark_that_can_be_drawn_is_known() -> None:
    """What draws is not loaded to read a theme: the list of its marks is held against it here."""
    assert {mark for mark in Line2D.markers if isinstance(mark, str)} == MARKS


def test_fonts_that_came_with_the_program_bear_the_names_by_which_they_are_known() -> None:
    """A theme may name these families without what draws being asked for them."""
    for family, file in LABEL_FONTS.items():
        assert Path(label_file(family)).name == file
