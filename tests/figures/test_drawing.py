"""The figures of a whole report."""

import re
from dataclasses import replace
from xml.etree import ElementTree

import matplotlib
import pytest

from lyewitness.figures import multiples
from lyewitness.figures.drawing import draw_figures, drawings_of
from lyewitness.figures.records import Figure
from lyewitness.figures.style import GroupInk, Look, look_from
from lyewitness.findings.records import Report
from tests.figures.making import made_report


@pytest.fixture(scope="module")
def report() -> Report:
    """Return a made-up study of nine columns."""
    return made_report()


@pytest.fixture(scope="module")
def look() -> Look:
    """Return the look that ships."""
    return look_from({})


@pytest.fixture(scope="module")
def drawn(report: Report, look: Look) -> tuple[Figure, ...]:
    """Return all its figures."""
    return draw_figures(report, look)


@pytest.fixture(scope="module")
def figures(drawn: tuple[Figure, ...]) -> dict[str, Figure]:
    """Return all its figures by id."""
    return {figure.id: figure for figure in drawn}


def test_every_limited_metric_has_its_decline_figure(figures: dict[str, Figure]) -> None:
    """Each marker and limited metric has a figure under the id that pages link to."""
    for marker in ("toluene", "amitrole"):
        for metric in ("plate_number_half_height", "retention_factor", "symmetry_factor"):
            assert f"decline-{marker}-{metric}" in figures


def test_every_injection_has_its_trace(figures: dict[str, Figure], report: Report) -> None:
    """Each injection's chromatogram is drawn."""
    drawn = [one for one in figures.values() if one.id.startswith("trace-")]
    assert len(drawn) == len(report.study.injections)


def test_figures_are_valid_and_say_what_they_show(figures: dict[str, Figure]) -> None:
    """Every figure is well-formed SVG of its stated size, with caption, alt text and table."""
    for figure in figures.values():
        for data in filter(None, (figure.data, figure.dark)):
            root = ElementTree.fromstring(data)
            assert root.get("width") == str(figure.width_px)
            assert root.get("height") == str(figure.height_px)
        assert figure.caption.endswith(".")
        assert len(figure.alt) > 20
        assert len({len(row) for row in figure.table}) == 1


def test_ids_and_files_are_unique(drawn: tuple[Figure, ...]) -> None:
    """No figure takes the place of another, also on a disk that ignores upper and lower case."""
    assert len({figure.id.lower() for figure in drawn}) == len(drawn)
    assert len({figure.file.lower() for figure in drawn}) == len(drawn)


def test_one_decline_is_the_source_of_its_own_figures_alone(report: Report, look: Look) -> None:
    """Another value of one marker and metric leaves those of others, the log and the method as they were."""
    last = next(one for one in report.judgement.declines if one.limit is not None and one.percent.size)
    changed = replace(last, percent=last.percent + 1.0)
    declines = tuple(changed if one is last else one for one in report.judgement.declines)
    after = replace(report, judgement=replace(report.judgement, declines=declines))
    before, then = (
        {(one.source[0], str(one.source[2])): one.source[1] for one in drawings_of(of, look)}
        for of in (report, after)
    )
    anew = {key for key in before if before[key] != then[key]}
    marker, metric = last.series.marker, last.series.metric
    pairs = {arguments for name, arguments in anew if name == "decline_figure"}
    assert pairs == {str((marker, metric))}
    assert {arguments for name, arguments in anew if name == "marker_figure"} == {str((marker,))}
    assert ("lives_figures", "()") in anew
    assert not {name for name, _ in anew} & {"logged_figures", "held_lives_figure"}


def test_two_drawings_are_the_same_bytes(report: Report, look: Look, figures: dict[str, Figure]) -> None:
    """A second drawing gives the same bytes, and leaves matplotlib's settings alone."""
    before = dict(matplotlib.rcParams)
    matplotlib.rcParams["font.size"] = 31.0
    try:
        again = draw_figures(report, look)
        assert matplotlib.rcParams["font.size"] == 31.0
    finally:
        matplotlib.rcParams.update({"font.size": before["font.size"]})
    assert {figure.id: figure for figure in again} == figures


def test_no_pigment_is_left(figures: dict[str, Figure]) -> None:
    """Every role has got a colour of the theme, in light and in dark."""
    for figure in figures.values():
        assert not re.search(
            rb"#0(10101|20202|30303|40404|50505|606[0-9a-f]{2})",
            figure.data + figure.dark + figure.narrow + figure.narrow_dark,
        )


def test_front_figures_have_a_narrow_form(figures: dict[str, Figure]) -> None:
    """What stands on front pages, and the log, is drawn for a phone as well, in letters of the same size."""
    for name in ("lives", "decline-amitrole-plate_number_half_height", "conditions"):
        figure = figures[name]
        root = ElementTree.fromstring(figure.narrow)
        assert root.get("width") == str(figure.narrow_width_px)
        assert int(root.get("width", "0")) <= 360
        assert root.get("height") == str(figure.narrow_height_px)
        assert b"scale(0.14 -0.14)" in figure.narrow
        assert b"scale(0.14 -0.14)" in figure.data
        assert figure.narrow_dark != figure.narrow


def test_light_and_dark_differ_in_colour_alone(figures: dict[str, Figure]) -> None:
    """The dark figure is the light one in other colours."""
    lives = figures["lives"]
    assert lives.dark != lives.data
    assert re.sub(rb"#[0-9a-f]{6}", b"", lives.dark) == re.sub(rb"#[0-9a-f]{6}", b"", lives.data)


def test_a_trace_is_small(figures: dict[str, Figure]) -> None:
    """A trace costs at most 25 KB, so that hundreds of them fit a report."""
    assert max(len(one.data) for one in figures.values() if one.id.startswith("trace-")) <= 25_000


def test_lives_say_at_least_where_a_group_outlived_the_test(figures: dict[str, Figure]) -> None:
    """Words beside the picture carry the numbers, censored ones as 'at least'."""
    lives = figures["lives"]
    assert "hybrid at least 120\u2009h" in lives.caption
    assert "hybrid at least 120\u2009h" in lives.alt
    assert ("hybrid", "", "not reached", "", "120", "") in lives.table


def test_a_compound_on_a_column_bears_no_mark_of_a_group(report: Report, look: Look) -> None:
    """Circle, square and triangle are the groups on every other page."""
    inks: list[GroupInk] = []

    def seen(
        _declines: object, _ink_of: object, own: dict[str, GroupInk], *_rest: object
    ) -> tuple[object, ...]:
        inks.extend(own.values())
        return b"", b"", 1

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(multiples, "_draw", seen)
        multiples.column_figure(report, look, report.study.columns[0])
    groups = {look.group(place).mark for place in range(len(report.study.groups))}
    assert inks
    assert not groups & {ink.mark for ink in inks}
