"""Comparisons of groups, by what is known of the lives on either side."""

import re
from dataclasses import replace
from itertools import combinations
from math import exp, log

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from lyewitness.decline.column_lives import ColumnLife
from lyewitness.decline.comparing import compare, power
from lyewitness.decline.corrections import settle
from lyewitness.decline.group_lives import typical_life
from lyewitness.decline.life_ratios import Side
from lyewitness.decline.records import Comparison, Life
from lyewitness.study.questions import Family
from lyewitness.study.records import Choices

CHOICES = Choices()


def column(hours: float, block: str = "") -> ColumnLife:
    """Return a column that failed at `hours`."""
    return ColumnLife("c", block, "reached", log(hours), 0.004, log(hours) - 0.01, log(hours) + 0.01)


def outlived(hours: float) -> ColumnLife:
    """Return a column that was within its limit for `hours`, and then the test ended."""
    return ColumnLife("c", "", "not reached", None, 0.0, log(hours), None)


def side(group: str, *lives: float | ColumnLife) -> Side:
    """Return a group of columns; numbers are lives."""
    return Side(group, tuple(column(life) if isinstance(life, (int, float)) else life for life in lives))


def compared(a: Side, b: Side, choices: Choices = CHOICES) -> Comparison:
    """Return one settled comparison."""
    (found,) = settle([compare("m", "plate_number_half_height", a, b, choices)], choices)
    return found


def test_known_lives_are_compared_by_welch() -> None:
    """Ratio, interval and p value of 90, 99, 93 h against 30, 34, 32 h are those of scipy's Welch test."""
    found = compared(side("a", 90, 99, 93), side("b", 30, 34, 32))
    other = stats.ttest_ind(np.log([90, 99, 93]), np.log([30, 34, 32]), equal_var=False)
    interval = other.confidence_interval(0.95)
    assert found.finding == "a lasts longer"
    assert found.p_value == pytest.approx(float(other.pvalue))
    assert found.life_ratio.low == pytest.approx(exp(interval.low))
    assert found.life_ratio.high == pytest.approx(exp(interval.high))
    assert (found.columns_a, found.columns_b) == (3, 3)
    assert found.exact_p == pytest.approx(0.1)


def test_sides_change_places_with_the_groups() -> None:
    """The shorter-lived group named first gives 'b lasts longer', and the ratio its inverse."""
    one, two = (
        compared(side("a", 90, 99, 93), side("b", 30, 34, 32)),
        compared(side("b", 30, 34, 32), side("a", 90, 99, 93)),
    )
    assert two.finding == "b lasts longer"
    assert one.life_ratio.value is not None
    assert two.life_ratio.value == pytest.approx(1 / one.life_ratio.value)


def test_outlived_test_gives_a_bound_of_the_ratio() -> None:
    """Lives of about 50 h against three that outlived 120 h: longer, by a factor that has a bound only."""
    found = compared(side("a", *(outlived(120.0),) * 3), side("b", 48, 52, 50))
    assert found.finding == "a lasts longer"
    assert found.life_ratio.value is None
    assert found.life_ratio.high is None
    assert found.life_ratio.low is not None
    assert 1.5 < found.life_ratio.low < 120 / 50
    turned = compared(side("b", 48, 52, 50), side("a", *(outlived(120.0),) * 3))
    assert turned.finding == "b lasts longer"
    assert turned.life_ratio.high == pytest.approx(1 / found.life_ratio.low)


def test_outliving_the_test_by_a_hair_is_not_settled() -> None:
    """Where the failures came near the end of the test, outliving it shows nothing."""
    found = compared(side("a", *(outlived(120.0),) * 3), side("b", 95, 118, 108))
    assert found.finding == "not settled"
    assert found.p_value is not None
    assert found.p_value > 0.05


def test_bounded_p_value_is_never_too_small() -> None:
    """Equal groups, the test ending in the midst of their lives: 'longer' in at most 5 of 100 studies."""
    rng = np.random.default_rng(4)
    false = 0
    for _ in range(600):
        lives = np.exp(log(100.0) + 0.12 * rng.standard_normal(6))
        columns = [column(life) if life < 104.0 else outlived(104.0) for life in lives]
        columns = [replace(one, own_error=0.0) for one in columns]
        found = compared(Side("a", tuple(columns[:3])), Side("b", tuple(columns[3:])))
        false += "longer" in found.finding
    assert false / 600 < 0.05


def test_nothing_failed_is_not_settled_and_not_tested() -> None:
    """Two groups that both outlived the test have no p value, and say why."""
    found = compared(side("a", *(outlived(120.0),) * 3), side("b", *(outlived(120.0),) * 3))
    assert (found.finding, found.p_value, found.p_adjusted) == ("not settled", None, None)
    assert re.match(r"no \w+ or \w+ column reached the limit", found.reason)


def test_three_against_three_by_ranks_never_settle() -> None:
    """Where both sides outlived the test in part, three against three have a p value of 0.1 or more."""
    found = compared(side("a", 60, outlived(120.0), outlived(120.0)), side("b", 20, 30, outlived(120.0)))
    assert "log-rank" in found.method
    assert found.p_value is not None
    assert found.p_value >= 0.1
    assert found.finding == "not settled"


def test_one_column_says_nothing_of_the_type() -> None:
    """One column against three: the ratio is about these columns, and there is no p value."""
    found = compared(side("a", 90.0), side("b", 30, 34, 32))
    assert found.finding == "these columns only"
    assert found.p_value is None
    assert found.life_ratio.value == pytest.approx(90 / (30 * 34 * 32) ** (1 / 3))
    assert "says nothing of the types" in found.reason
    bounded = compared(side("a", outlived(120.0)), side("b", 60.0))
    assert bounded.life_ratio.low == pytest.approx(2.0)


def test_alike_within_the_margin_is_said_only_when_shown() -> None:
    """Six columns a side within a per cent are alike within 25 %; three that scatter are not shown to be."""
    alike = compared(side("a", 60, 61, 59, 60, 61, 60), side("b", 60, 60, 61, 59, 60, 61))
    assert alike.finding == "no meaningful difference"
    assert alike.equivalence_p is not None
    assert alike.equivalence_p < 0.025
    assert alike.life_ratio.low is not None
    assert alike.life_ratio.high is not None
    assert 1 / 1.25 < alike.life_ratio.low < alike.life_ratio.high < 1.25
    open_still = compared(side("a", 52, 66, 60), side("b", 55, 68, 58))
    assert open_still.finding == "not settled"
    assert "cannot tell the lives apart" in open_still.reason


def test_a_difference_too_small_to_matter_is_none() -> None:
    """Lives of 60 and 63 h known to a per cent differ surely, but by less than the margin."""
    found = compared(side("a", 63, 63.2, 62.9, 63.1), side("b", 60, 60.2, 59.9, 60.1))
    assert found.p_value is not None
    assert found.p_value < 0.05
    assert found.finding == "no meaningful difference"


def test_blocks_are_paired_on_demand() -> None:
    """Columns that ran side by side are compared within their blocks where the study says so."""
    a = Side("a", tuple(column(h, b) for h, b in ((50, "x"), (100, "y"), (200, "z"))))
    b = Side("b", tuple(column(h, b) for h, b in ((160, "z"), (80, "y"), (41, "x"))))
    found = compared(a, b, Choices(paired_blocks=True))
    assert found.method == "paired t test on log lives, 3 blocks"
    assert found.finding == "a lasts longer"
    other = stats.ttest_rel(np.log([50, 100, 200]), np.log([41, 80, 160]))
    assert found.p_value == pytest.approx(float(other.pvalue))
    assert compared(a, b).finding == "not settled"


def test_holm_spans_all_comparisons() -> None:
    """The same pair among twenty others has a larger adjusted p value than alone."""
    one = compare("m", "k", side("a", 90, 99, 93), side("b", 50, 54, 58), CHOICES)
    null = compare("m", "k", side("a", 52, 66, 60), side("b", 55, 68, 58), CHOICES)
    alone, among = settle([one], CHOICES)[0], settle([one, *[null] * 20], CHOICES)[0]
    assert one.p_value is not None
    assert alone.p_adjusted == pytest.approx(one.p_value)
    assert among.p_adjusted == pytest.approx(21 * one.p_value)


def test_what_a_question_asks_for_is_corrected_by_itself() -> None:
    """Twenty others take nothing from the pair that a question asks for; they are corrected for all."""
    one = compare("m", "k", side("a", 90, 99, 93), side("b", 50, 54, 58), CHOICES)
    null = compare("n", "k", side("a", 52, 66, 60), side("b", 55, 68, 58), CHOICES)
    family = Family("", frozenset(("a", "b")), frozenset((("m", "k"),)))
    first, other, *_ = settle([one, *[null] * 20], CHOICES, (family,))
    assert one.p_value is not None
    assert null.p_value is not None
    assert first.p_adjusted == pytest.approx(one.p_value)
    assert other.p_adjusted == pytest.approx(min(1.0, 20 * null.p_value))
    assert (first.corrected_over, first.of_question) == (1, "")
    assert (other.corrected_over, other.of_question) == (21, None)


def test_what_two_questions_ask_for_stands_by_the_less_sure_one() -> None:
    """One comparison has one corrected p value, the largest of its questions, whichever comes first."""
    one = compare("m", "k", side("a", 90, 99, 93), side("b", 50, 54, 58), CHOICES)
    null = compare("m", "k", side("a", 52, 66, 60), side("c", 55, 68, 58), CHOICES)
    wide = Family("", frozenset("abc"), frozenset((("m", "k"),)))
    narrow = Family("pair", frozenset("ab"), frozenset((("m", "k"),)))
    for families in ((wide, narrow), (narrow, wide)):
        first, other = settle([one, null], CHOICES, families)
        assert one.p_value is not None
        assert (first.of_question, first.corrected_over) == ("", 2)
        assert first.p_adjusted == pytest.approx(2 * one.p_value)
        assert (other.of_question, other.corrected_over) == ("", 2)


def test_asking_for_all_pairs_and_for_each_does_not_undo_the_correction() -> None:
    """Four equal groups, asked about at once and two by two: 'longer' in at most 5 of 100 studies."""
    rng = np.random.default_rng(8)
    limited = frozenset((("m", "k"),))
    pairs = list(combinations("abcd", 2))
    asked = [frozenset("abcd"), *map(frozenset, pairs)]
    families = [Family("".join(sorted(groups)), groups, limited) for groups in asked]
    false = 0
    for lives in np.exp(rng.normal(log(100.0), 0.1, (400, 4, 3))):
        groups = {
            name: side(name, *(replace(column(life), own_error=0.0) for life in own))
            for name, own in zip("abcd", lives, strict=True)
        }
        found = settle(
            [compare("m", "k", groups[a], groups[b], CHOICES) for a, b in pairs], CHOICES, families
        )
        false += any("longer" in one.finding for one in found)
    # By each pair's own question 40 of 400 say it.
    assert false <= 20


def test_columns_that_would_settle_it_are_counted() -> None:
    """What would show the ratio seen here in four studies of five is said, and shows it in about as many."""
    found = compared(side("a", 60, 72, 66), side("b", 52, 66, 58))
    assert found.columns_needed is not None
    assert f"about {found.columns_needed} columns a side" in found.reason
    rng = np.random.default_rng(2)
    spread = np.sqrt((np.log([60, 72, 66]).var(ddof=1) + np.log([52, 66, 58]).var(ddof=1)) / 2)
    apart = np.log([60, 72, 66]).mean() - np.log([52, 66, 58]).mean()
    draws = rng.normal([[[apart]], [[0.0]]], spread, (2, 800, found.columns_needed))
    seen = stats.ttest_ind(draws[0], draws[1], axis=1, equal_var=False).pvalue < 0.05
    assert 0.7 < seen.mean() < 0.92


def test_the_columns_that_would_settle_it_are_the_fewest_with_the_power() -> None:
    """The number beside a comparison is that of the plan: one column fewer has less than the power wanted."""
    found = compared(side("a", 60, 72, 66), side("b", 52, 66, 58))
    spread = np.sqrt((np.log([60, 72, 66]).var(ddof=1) + np.log([52, 66, 58]).var(ddof=1)) / 2)
    ratio, needed = found.life_ratio.value, found.columns_needed
    assert ratio is not None
    assert needed is not None
    assert power(ratio, spread, needed, 0.05) >= 0.8 > power(ratio, spread, needed - 1, 0.05)


def test_rates_stand_beside_the_lives() -> None:
    """Rates on both sides give their ratio and a p value of its own, not adjusted."""
    a = Side("a", (outlived(120.0),) * 3, tuple((log(rate), 0.05) for rate in (1e-4, 1.2e-4, 1.1e-4)))
    b = Side("b", (outlived(120.0),) * 3, tuple((log(rate), 0.05) for rate in (9e-4, 8e-4, 10e-4)))
    found = compared(a, b)
    assert found.rate_ratio.value == pytest.approx(0.122, abs=0.01)
    assert found.rate_p is not None
    assert found.rate_p < 0.01
    assert found.finding == "not settled"
    none = compared(replace(a, rates=a.rates[:2]), b)
    assert none.rate_ratio.value is None
    assert "rate of nothing" in none.rate_ratio.reason


@st.composite
def sides(draw: st.DrawFn) -> Side:
    """Draw a group of one to five columns in up to three blocks, some of which outlived the test."""
    blocks = st.sampled_from(("", "1", "2", "3"))
    failed = st.builds(column, st.floats(5.0, 110.0), blocks)
    lives = draw(st.lists(failed | st.just(outlived(120.0)), min_size=1, max_size=5))
    rates = tuple((draw(st.floats(-8.0, -3.0)), 0.05) for _ in lives)
    return Side("", tuple(lives), rates)


@given(sides(), sides(), st.booleans())
def test_two_groups_that_change_places_change_nothing_else(one: Side, two: Side, paired: bool) -> None:
    """Every ratio is inverted with its interval, 'a' and 'b' change places, and p values stay."""
    choices = Choices(paired_blocks=paired)
    a, b = replace(one, group="a"), replace(two, group="b")
    found, turned = compared(a, b, choices), compared(b, a, choices)
    names = {"a lasts longer": "b lasts longer", "b lasts longer": "a lasts longer"}
    assert turned.finding == names.get(found.finding, found.finding)
    for forth, back in ((found.life_ratio, turned.life_ratio), (found.rate_ratio, turned.rate_ratio)):
        for end, other in ((forth.value, back.value), (forth.low, back.high), (forth.high, back.low)):
            assert (end is None) == (other is None)
            assert end is None or other is None or other == pytest.approx(1 / end, rel=1e-6)
    for before, after in ((found.p_value, turned.p_value), (found.rate_p, turned.rate_p)):
        assert (before is None) == (after is None)
        assert before is None or after == pytest.approx(before, rel=1e-6, abs=1e-12)
    assert turned.method == found.method


def test_columns_of_one_group_in_a_block_are_averaged() -> None:
    """Two columns of a group in each of three blocks are three pairs, whatever the order of the groups."""
    a = side("a", *(column(hours, block) for hours, block in zip(A_LIVES, BLOCKS, strict=True)))
    b = side("b", *(column(0.8 * hours, block) for hours, block in zip(A_LIVES, BLOCKS, strict=True)))
    found = compared(a, b, Choices(paired_blocks=True))
    assert found.method == "paired t test on log lives, 3 blocks"
    assert found.life_ratio.value == pytest.approx(1.25)
    assert found.finding == "a lasts longer"


A_LIVES = (40.0, 44.0, 60.0, 66.0, 90.0, 99.0)
BLOCKS = ("1", "1", "2", "2", "3", "3")


def test_equal_brackets_are_not_evidence_of_their_number() -> None:
    """Three columns between 48 and 53 h against three between 53 and 58 h: one step of the test."""
    low, high, after = log(48.0), log(53.0), log(58.0)

    def between(start: float, end: float) -> ColumnLife:
        error = (end - start) * 12**-0.5
        return ColumnLife("c", "", "reached", (start + end) / 2, error, start, end, error)

    found = compared(side("a", *(between(low, high),) * 3), side("b", *(between(high, after),) * 3))
    assert "longer" not in found.finding
    alone, _ = typical_life([between(low, high)] * 3, 0.95, Life("not measured"))
    assert alone.hours.low is not None
    assert alone.hours.high is not None
    assert alone.hours.low <= 48.5
    assert alone.hours.high >= 52.5


def test_equivalence_is_corrected_for_the_number_of_comparisons() -> None:
    """What would be no meaningful difference by itself is not settled among ten that are judged together."""
    pair = compare("m", "k", side("a", 60, 63, 66, 61), side("b", 61, 64, 60, 66), CHOICES)
    p_value = pair.equivalence_p
    assert p_value is not None
    many = 1 + int(0.025 / p_value)
    assert settle([pair], CHOICES)[0].finding == "no meaningful difference"
    assert {one.finding for one in settle([pair] * (many + 1), CHOICES)} == {"not settled"}


@pytest.mark.parametrize("columns", [2, 3, 4, 6])
@pytest.mark.parametrize(
    ("share_a", "share_b"), [(0.999, 0.5), (0.999, 0.8), (0.9, 0.7), (0.9, 0.3), (0.8, 0.8)]
)
def test_groups_followed_for_unlike_times_are_not_told_apart(
    columns: int, share_a: float, share_b: float
) -> None:
    """Of equal types 5 % at most are told to differ, however early one is left: of 500, with chance 7 %.

    Lives are lognormal; `share` of them end within the time for which a group is followed.
    """
    random = np.random.default_rng(columns)
    until = [float(stats.norm.ppf(share)) for share in (share_a, share_b)]
    told = 0
    for _ in range(500):
        a, b = (
            side(group, *(_followed(float(z), end) for z in random.normal(size=columns)))
            for group, end in zip("ab", until, strict=True)
        )
        told += compared(a, b).finding.endswith("lasts longer")
    assert told <= 35


def _followed(z: float, until: float) -> ColumnLife:
    """Return a column of a type whose log lives have a mean of 4 and scatter by 0.2, followed for so long."""
    return column(exp(4 + 0.2 * z)) if z <= until else outlived(exp(4 + 0.2 * until))


def test_columns_that_outlived_the_test_on_both_sides_name_no_longer_lived_type() -> None:
    """Arrangements of lives that were followed for unlike times may differ: no ratio, so no longer life."""
    a = side("a", 50, 52, 54, 56, 58, 60, outlived(90.0))
    b = side("b", 8, 9, 10, 11, 11.5, 11.8, outlived(12.0))
    found = compared(a, b)
    assert found.p_value is not None
    assert found.p_value < 0.05
    assert found.finding == "not settled"
