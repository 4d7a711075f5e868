"""The figure of factors shows every effect that is known, and none that is not."""

import re
from dataclasses import replace
from xml.etree import ElementTree

import pytest

from lyewitness.decline.records import FactorEffect
from lyewitness.document.themes import Theme
from lyewitness.figures.effects import factor_figures
from lyewitness.figures.records import Figure
from lyewitness.figures.style import look_from
from lyewitness.findings.records import Report
from lyewitness.words.estimates import Estimate
from tests.figures.reading import keep_words_as_text, words_of

WIDE = Estimate(1.6, 0.9, 2.8)
OPEN = Estimate(None, 1.2, None)
UNKNOWN = Estimate()


def effect(report: Report, ratio: Estimate, rates: Estimate = UNKNOWN, at: str = "") -> FactorEffect:
    """Return what a sacrificial column does, by the metric that decides."""
    marker, metric = report.judgement.deciding
    other = "bonding" if at else ""
    return FactorEffect(
        "sacrificial column",
        "with",
        "without",
        other,
        at,
        marker,
        metric,
        ("S1",),
        ("S2",),
        ratio,
        rates,
        None,
    )


def drawn(report: Report, theme: Theme, *effects: FactorEffect) -> list[Figure]:
    """Return the figures of a report with these effects."""
    judgement = replace(report.judgement, factor_effects=effects)
    return factor_figures(replace(report, judgement=judgement), look_from(theme.look))


def test_a_study_without_known_effects_has_no_figure(example: Report, daylight: Theme) -> None:
    """Neither without factors nor where nothing is known of them."""
    assert drawn(example, daylight) == []
    assert drawn(example, daylight, effect(example, UNKNOWN)) == []


def test_every_known_effect_is_told_and_drawn(example: Report, daylight: Theme) -> None:
    """A main effect stands above its parts; a ratio of rates says so; the table holds the same numbers."""
    (figure,) = drawn(
        example,
        daylight,
        effect(example, OPEN, at="C8"),
        effect(example, WIDE),
        effect(example, UNKNOWN, Estimate(0.4, 0.2, 0.8), at="phenyl"),
    )
    assert figure.caption.startswith(
        "Sacrificial column: with ÷ without: 1.6 (0.9 to 2.8); at bonding C8: at least 1.2; "
        "at bonding phenyl: 0.4 (0.2 to 0.8) (of rates)."
    )
    assert [row[3:] for row in figure.table] == [
        ("at", "of", "ratio", "low", "high"),
        ("", "life", "1.6", "0.9", "2.8"),
        ("C8", "life", "", "1.2", ""),
        ("phenyl", "rate", "0.4", "0.2", "0.8"),
    ]
    assert ElementTree.fromstring(figure.data).tag.endswith("svg")


@pytest.mark.parametrize(
    "ratio", [Estimate(1.0, 1.0, 1.0), Estimate(1e-9, None, 1e9), Estimate(0.0, 0.0, 2.0)]
)
def test_extreme_ratios_are_drawn_to_the_edge(example: Report, daylight: Theme, ratio: Estimate) -> None:
    """No ratio stretches the axis beyond what can be read, and none ends in an error."""
    assert len(drawn(example, daylight, effect(example, ratio))) == 1


def test_the_line_of_no_difference_strikes_out_no_words(
    example: Report, daylight: Theme, monkeypatch: pytest.MonkeyPatch
) -> None:
    """It stands beside the bars alone: names and numbers are written across its place."""
    keep_words_as_text(monkeypatch)
    (figure,) = drawn(example, daylight, effect(example, WIDE), effect(example, WIDE, at="C8"))
    words = words_of(figure.data, look_from(daylight.look))
    lines = [
        (float(x), min(float(start), float(end)), max(float(start), float(end)))
        for x, start, to, end in re.findall(r'd="M(\S+) (\S+)[ L]+(\S+) (\S+)"', figure.data.decode())
        if x == to
    ]
    assert len(lines) >= 2
    assert any(word.left < x < word.right for word in words for x, _, _ in lines)
    for x, top, low in lines:
        struck = [one.text for one in words if one.left < x < one.right and one.top < low and top < one.low]
        assert not struck


def test_a_caption_explains_what_is_drawn_alone(example: Report, daylight: Theme) -> None:
    """Open ends, and paler marks of an effect at one level, are told of where there are such."""
    (plain,) = drawn(example, daylight, effect(example, WIDE))
    assert "open ends" not in plain.caption
    assert "paler" not in plain.caption
    (both,) = drawn(example, daylight, effect(example, WIDE), effect(example, OPEN, at="C8"))
    assert "open ends drawn to the edge; paler: at one level of another factor" in both.caption
