"""Beside a sentence stands what it rests on: its interval drawn small, and the same in words."""

import re
from dataclasses import replace
from xml.etree import ElementTree

import pytest

from lyewitness.decline.records import Life
from lyewitness.document.parts import document_of
from lyewitness.document.strips import WIDTH, Argument, Axis, Bar, drawing, sentence_of, strips_of
from lyewitness.document.themes import Theme
from lyewitness.findings.records import Report
from lyewitness.pipeline import Rendered
from lyewitness.words.estimates import Estimate
from lyewitness.words.numbers import interval

HOURS = Axis(0.0, 100.0, "life / h", (0.0, 50.0, 100.0))
RATIO = Axis(0.5, 4.0, "ratio", (1.0, 2.0), ratio=True)


def places(svg: str, of: str) -> list[float]:
    """Return the numbers of the first path or text of class `of`."""
    tree = ElementTree.fromstring(svg)
    found = next(one for one in tree.iter() if of in (one.get("class") or "").split())
    paths = [found.get("d") or "", *(one.get("d") or "" for one in found)]
    return [float(number) for number in re.findall(r"-?[\d.]+", "".join(paths))]


def test_an_interval_is_drawn_to_scale() -> None:
    """Ends and tick marks of a linear axis lie in the proportions of their values."""
    svg = drawing([Bar("C1", Estimate(60.0, 50.0, 75.0))], HOURS)
    start, _, end = places(svg, "bar")[:3]
    left, _, right = places(svg, "axis")[:3]
    assert (start - left) / (right - left) == pytest.approx(0.50, abs=0.002)
    assert (end - left) / (right - left) == pytest.approx(0.75, abs=0.002)
    assert right < WIDTH


def test_ratios_lie_on_a_logarithmic_axis_with_a_rule_at_one() -> None:
    """Two lies as far above one as a half below it."""
    axis = Axis(0.25, 4.0, "ratio", (1.0,), ratio=True)
    rule = places(drawing([Bar("", Estimate(2.0, 0.5, 2.0))], axis), "rule")[0]
    start, _, end = places(drawing([Bar("", Estimate(2.0, 0.5, 2.0))], axis), "bar")[:3]
    assert rule - start == pytest.approx(end - rule, abs=0.11)


@pytest.mark.parametrize(
    ("value", "arrows"),
    [(Estimate(None, 1.5, None), 1), (Estimate(None, None, 1.5), 1), (Estimate(1.2, 1.0, 1.5), 0)],
)
def test_an_open_end_is_an_arrow(value: Estimate, arrows: int) -> None:
    """Where nothing is known beyond, the bar runs to the edge and ends in an arrow."""
    svg = drawing([Bar("", value)], RATIO)
    assert len(re.findall(r"l-?5 4l-?5", svg)) == arrows


def test_the_axis_of_a_ratio_says_that_it_is_logarithmic(
    example: Report, rendered: Rendered, daylight: Theme
) -> None:
    """Its words do, and within a factor of a few it has ticks between 1 and 2, and its words stay on it."""
    site = document_of(example, rendered.figures, daylight).edition
    strips = strips_of(site, example.findings.answers[0].claims).values()
    ratios = [one.svg for one in strips if 'class="rule"' in one.svg]
    assert len(ratios) == 2
    for svg in ratios:
        title = re.findall(r'class="title"[^>]*>([^<]*)<', svg)[0]
        assert title.endswith(", logarithmic")
        assert 5.5 * len(title) < WIDTH
        assert ">1.5<" in svg
    assert "silica C18 + sacrificial" in ratios[1]


def test_labels_are_text_not_markup() -> None:
    """A column may be called what it likes."""
    svg = drawing([Bar("<b>&", Estimate(1.0))], HOURS)
    assert "<b>" not in svg
    assert "&lt;b&gt;&amp;" in svg


def test_claims_on_ratios_and_lives_are_drawn_with_their_numbers(
    example: Report, rendered: Rendered, daylight: Theme
) -> None:
    """The words of each strip hold the intervals of the records that the claim names."""
    site = document_of(example, rendered.figures, daylight).edition
    answer = example.findings.answers[0]
    strips = strips_of(site, answer.claims)
    ratios = [one for one in answer.claims if any(because.kind == "comparison" for because in one.because)]
    assert ratios
    assert all(claim.id in strips for claim in ratios)
    lives = [one for one in answer.claims if "-life-" in one.id]
    assert len(lives) == len(example.study.groups)
    for claim in lives:
        for because in claim.because:
            if because.kind == "decline":
                column, marker, metric = because.target.split("/")
                life = site.declines[column, marker, metric].life
                assert f"{column} {interval(life.hours, 'h')}" in strips[claim.id].words


def test_lives_that_stand_on_one_page_have_one_scale(
    example: Report, rendered: Rendered, daylight: Theme
) -> None:
    """An eye compares the lengths of neighbours: an interval that goes far lengthens the axis of all."""
    lives = [
        replace(one, life=replace(one.life, hours=replace(one.life.hours, high=1.4 * one.tested_to_h)))
        if one.group == example.study.groups[-1] and one.life.state == "reached" and one.tested_to_h
        else one
        for one in example.judgement.group_lives
    ]
    wide = replace(example, judgement=replace(example.judgement, group_lives=tuple(lives)))
    for report in (example, wide):
        site = document_of(report, rendered.figures, daylight).edition
        answer = report.findings.answers[0]
        strips = strips_of(site, answer.claims)
        drawn = [strips[one.id].svg for one in answer.claims if "-life-" in one.id and one.id in strips]
        assert len(drawn) > 1
        assert len({tuple(re.findall(r'class="tick"[^>]*>([^<]*)<', svg)) for svg in drawn}) == 1


def test_the_same_lives_are_drawn_once(example: Report, rendered: Rendered, daylight: Theme) -> None:
    """A later claim on the same lives has no second drawing of them."""
    site = document_of(example, rendered.figures, daylight).edition
    words = [strip.words for strip in strips_of(site, example.findings.answers[0].claims).values()]
    assert len(words) == len(set(words))


def test_a_picture_that_a_claim_rests_on_stands_beside_it(example_pages: dict[str, str]) -> None:
    """The sentence on dissolution shows the micrograph that it names."""
    assert 'id="figure-image-S1-after"' in example_pages["index.html"]


def test_a_column_without_a_life_does_not_share_its_neighbours(
    example: Report, rendered: Rendered, daylight: Theme
) -> None:
    """Of each column that a claim rests on something is said: a bare name would be read with the next one."""
    unknown = replace(
        example,
        judgement=replace(
            example.judgement,
            declines=tuple(
                replace(one, life=Life("unclear", Estimate(None, 41.7, None)))
                if one.series.column == "P1"
                else one
                for one in example.judgement.declines
            ),
        ),
    )
    site = document_of(unknown, rendered.figures, daylight).edition
    answer = unknown.findings.answers[0]
    (claim,) = [one for one in answer.claims if "-life-" in one.id and "polymer" in one.id]
    said = sentence_of(site, claim, Argument({}, answer.deciding))
    labels = [link.label for one in said.because for link in one.links if link.label.startswith("P1")]
    assert labels
    assert all("at least 41.7" in label for label in labels), labels


def test_a_mark_hides_no_interval() -> None:
    """The mark is drawn first, without a ground of its own, and its interval upon it."""
    svg = drawing([Bar("C1", Estimate(60.0, 59.5, 60.5), stout=True)], HOURS)
    assert svg.index('class="point"') < svg.index("<path", svg.index('class="bar'))
    assert "halo" not in svg
