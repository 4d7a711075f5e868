"""Effects of factors against statsmodels and published values, and what bounds and single columns give."""

from collections.abc import Mapping, Sequence
from dataclasses import replace
from importlib.resources import files
from math import exp, log
from typing import Any

import numpy as np
import pandas as pd
import pytest
import statsmodels.api as sm
import statsmodels.formula.api as smf
from statsmodels.stats.tests.test_anova import kidney_table

from lyewitness.decline.factors import factor_effects, main_effects
from lyewitness.decline.linear_models import LinearModel, contrast
from lyewitness.decline.records import Decline, FactorEffect, Interaction, Life, Series
from lyewitness.study.records import Choices, Factor, Limit, Question, Study
from lyewitness.words.estimates import Estimate
from tests.findings.making import column, study_of

FOLLOWED = ("caffeine", "plate_number_half_height")
LIMIT = Limit(FOLLOWED[1], at_least_percent=80.0)
Cells = Mapping[tuple[str, str], Sequence[float]]


def design_of(
    cells: Cells, names: Sequence[str], ends_h: float = 1e9, blocks: int = 0
) -> tuple[Study, dict[tuple[str, str], dict[str, list[Decline]]]]:
    """Return a study of two factors and the declines of its columns; no life is seen beyond `ends_h`."""
    columns, declines = [], list[Decline]()
    for (first, second), lives in cells.items():
        for number, life in enumerate(lives):
            one = column(
                f"{first}-{second}-{number}",
                f"{first} {second}",
                block=str(number % blocks) if blocks else "",
            )
            columns.append(one)
            declines.append(_decline(one.id, one.group, life, ends_h))
    levels = [list(dict.fromkeys(cell[axis] for cell in cells)) for axis in (0, 1)]
    factors = tuple(
        Factor(name, {lv: tuple(c.id for c in columns if c.id.split("-")[axis] == lv) for lv in levels[axis]})
        for axis, name in enumerate(names)
    )
    study = study_of({}, columns=tuple(columns), factors=factors, choices=Choices(paired_blocks=bool(blocks)))
    return study, {FOLLOWED: {g: [d for d in declines if d.series.group == g] for g in study.groups}}


def _decline(column_id: str, group: str, life_h: float, ends_h: float) -> Decline:
    hours = np.linspace(0.0, min(ends_h, 10 * life_h), 12)
    series = Series(column_id, group, *FOLLOWED, (), hours, hours, hours)
    reached = life_h < ends_h
    life = Life("reached", Estimate(life_h)) if reached else Life("not reached", Estimate(None, ends_h))
    rate = Estimate(log(1.25) / life_h)
    return Decline(
        series, 1.0, 0.01, 3, hours, end_h=ends_h, limit=LIMIT, limit_percent=80.0, life=life, rate_per_h=rate
    )


def analysed(
    cells: Cells, names: Sequence[str] = ("part", "bonding"), **changes: Any
) -> tuple[dict[tuple[str, str, str, str], FactorEffect], list[Interaction]]:
    """Return effects by (factor, level, other, at), and the interactions."""
    effects, interactions = factor_effects(*design_of(cells, names, **changes))
    return {(e.factor, e.level, e.other, e.at): e for e in effects}, list(interactions)


def drawn(
    seed: int, part: float, bonding: float = 1.0, both: float = 1.0, n: int = 3, sd: float = 0.08
) -> Cells:
    """Return lives of a 2 × 2 design with these true ratios."""
    random = np.random.default_rng(seed)
    means = {
        ("without", "C8"): 40.0, ("with", "C8"): 40.0 * part,
        ("without", "C18"): 40.0 * bonding, ("with", "C18"): 40.0 * bonding * part * both,
    }  # fmt: skip
    return {cell: list(mean * np.exp(sd * random.standard_normal(n))) for cell, mean in means.items()}


def kidney() -> pd.DataFrame:
    """Return the days in hospital by duration and weight gain (Neter, Applied Linear Statistical Models)."""
    table = pd.DataFrame(kidney_table)
    table["y"] = np.log(table["Days"] + 1)
    return table


@pytest.mark.parametrize("left_out", [(), (3, 17, 25, 44, 51)])
def test_effects_and_interaction_of_published_data_agree_with_statsmodels(left_out: tuple[int, ...]) -> None:
    """Ratios, intervals and p values of a 2 × 3 design are those of an OLS with sum coding."""
    table = kidney().drop(index=list(left_out))
    fitted = smf.ols("y ~ C(Duration, Sum) * C(Weight, Sum)", table).fit()
    cells: dict[tuple[str, str], list[float]] = {}
    for duration, weight, y in zip(table["Duration"], table["Weight"], table["y"], strict=True):
        cells.setdefault((f"d{duration}", f"w{weight}"), []).append(exp(float(y)))
    found, interactions = analysed(dict(sorted(cells.items())), ("duration", "weight"))
    effect = found["duration", "d2", "", ""]
    assert effect.ratio.value is not None
    # In sum coding the first of two levels stands at +1, so the second against it is −2 coefficients.
    test = fitted.t_test(np.eye(6)[1] * -2)
    low, high = test.conf_int(0.05)[0]
    ends = np.array([effect.ratio.value, effect.ratio.low, effect.ratio.high], dtype=float)
    assert np.log(ends) == pytest.approx([float(test.effect[0]), low, high], rel=1e-9)
    assert effect.p_value == pytest.approx(float(test.pvalue), rel=1e-8)
    if not left_out:
        # As published: F(1, 54) = 4.358293, p = 0.0415617.
        assert effect.p_value == pytest.approx(0.0415617, abs=1e-7)
    third = fitted.t_test([0, 0, -2, -1, 0, 0])
    assert log(found["weight", "w3", "", ""].ratio.value or 0) == pytest.approx(
        float(third.effect[0]), rel=1e-9
    )
    frame = table.assign(D=table["Duration"].map({1: 0, 2: 1}))
    treated = smf.ols("y ~ C(D) * C(Weight)", frame).fit()
    for one, name in zip(interactions, ("C(D)[T.1]:C(Weight)[T.2]", "C(D)[T.1]:C(Weight)[T.3]"), strict=True):
        assert one.p_value == pytest.approx(float(treated.pvalues[name]), rel=1e-8)
        assert log(one.ratio.value or 0) == pytest.approx(float(treated.params[name]), rel=1e-8)


def test_interactions_of_rates_are_tested_as_those_of_lives_are() -> None:
    """Where no column failed, rates alone say whether a part works alike on both bondings: p as by OLS."""
    # Each column declines at its rate to its own life, which lies beyond the test of 20 h.
    for both, finding in ((4.0, "differs"), (1.0, "alike"), (1.15, "cannot tell")):
        lives = drawn(3, part=2.0, both=both, sd=0.02 if both == 1.0 else 0.1)
        (one,) = analysed(lives, ends_h=20.0)[1]
        assert one.finding == "cannot tell"
        assert one.p_value is None
        assert one.rate_finding == finding, one
        table = pd.DataFrame(
            [(*cell, -log(life)) for cell, own in lives.items() for life in own], columns=["a", "b", "y"]
        )
        fitted = smf.ols("y ~ C(a, Treatment('without')) * C(b, Treatment('C8'))", table).fit()
        assert one.rate_p == pytest.approx(float(fitted.pvalues.iloc[-1]), rel=1e-6)
        assert log(one.rate_ratio.value or 0) == pytest.approx(float(fitted.params.iloc[-1]), rel=1e-6)


def test_one_factor_has_the_certified_f() -> None:
    """The contrasts of the five instruments of SiRstv (NIST StRD) give back the certified residual and F."""
    text = (files("scipy.stats") / "tests/data/nist_anova/SiRstv.dat").read_text().splitlines()[60:]
    instrument, value = np.array([line.split() for line in text if line.strip()], dtype=float).T
    design = np.array([[1.0 if one == i else 0.0 for one in range(1, 6)] for i in instrument])
    model = LinearModel(design, value, np.zeros(25, dtype=np.bool_), np.zeros(25))
    first, second = (
        contrast(model, w, 0.95) for w in (np.eye(5)[1] - np.eye(5)[0], np.eye(5)[4] - np.eye(5)[0])
    )
    fitted = sm.OLS(value, design).fit()
    assert fitted.mse_resid == pytest.approx(1.08318280000000e-02, rel=1e-8)
    for found, weights in ((first, [-1, 1, 0, 0, 0]), (second, [-1, 0, 0, 0, 1])):
        test = fitted.t_test(weights)
        assert found.p_value == pytest.approx(float(test.pvalue), rel=1e-9)
        assert (found.low, found.high) == pytest.approx(tuple(test.conf_int()[0]), rel=1e-8)


def test_blocks_are_strata() -> None:
    """Where blocks are paired their differences leave the scatter, as in an OLS with blocks."""
    random = np.random.default_rng(4)
    block = np.exp(0.5 * random.standard_normal(4))
    cells = {cell: list(np.array(lives) * block) for cell, lives in drawn(5, 1.5, n=4, sd=0.04).items()}
    found, _ = analysed(cells, blocks=4)
    frame = pd.DataFrame(
        [
            {"y": log(life), "part": part, "bonding": bonding, "block": str(number)}
            for (part, bonding), lives in cells.items()
            for number, life in enumerate(lives)
        ]
    )
    fitted = smf.ols("y ~ C(part, Sum) * C(bonding, Sum) + C(block)", frame).fit()
    test = fitted.t_test(np.eye(7)[1] * 2)
    effect = found["part", "with", "", ""]
    assert np.log([effect.ratio.low or 0, effect.ratio.high or 0]) == pytest.approx(
        sorted(np.array(test.conf_int()[0])), rel=1e-8
    )
    assert "strata" in effect.method


def test_an_interaction_is_alike_only_within_the_margin() -> None:
    """Alike, differing and open interactions are told apart; the effect stands at each level of the other."""
    assert [one.finding for one in analysed(drawn(1, 1.6, 1.2, sd=0.03))[1]] == ["alike"]
    found, (one,) = analysed(drawn(2, 1.6, 1.2, both=2.0, sd=0.05))
    assert one.finding == "differs"
    at = [found["part", "with", "bonding", level].ratio.value or 0 for level in ("C8", "C18")]
    assert at == pytest.approx([1.6, 3.2], rel=0.15)
    assert one.ratio.value == pytest.approx(at[1] / at[0])
    assert [one.finding for one in analysed(drawn(3, 1.6, sd=0.3))[1]] == ["cannot tell"]


def test_single_columns_a_cell_give_main_effects_and_no_interaction() -> None:
    """Four single columns of a 2 × 2 leave one degree of freedom, taking the factors to act independently."""
    found, (one,) = analysed({cell: lives[:1] for cell, lives in drawn(7, 1.6).items()})
    effect = found["part", "with", "", ""]
    assert effect.additive
    logs = {cell: log(lives[0]) for cell, lives in drawn(7, 1.6).items()}
    # By hand: a 2 × 2 of single values has (y11 − y12 − y21 + y22)² ÷ 4 as its one residual square.
    residual = (logs["with", "C18"] - logs["with", "C8"] - logs["without", "C18"] + logs["without", "C8"]) / 2
    half = 12.7062 * abs(residual)
    assert log(effect.ratio.high or 0) - log(effect.ratio.low or 1) == pytest.approx(2 * half, rel=1e-4)
    assert one.p_value is None
    assert one.finding == "cannot tell"


def test_two_single_columns_tell_nothing() -> None:
    """One column at each of two levels leaves no scatter: no effect is given."""
    assert analysed({("without", "C8"): [40.0], ("with", "C8"): [60.0]}) == ({}, [])


def test_what_outlived_the_test_gives_a_bound() -> None:
    """Where no column at a level failed, the ratio has a lower end only, below the true one."""
    found, _ = analysed(drawn(11, 3.0, n=4), ends_h=90.0)
    ratio = found["part", "with", "", ""].ratio
    assert ratio.value is None
    assert ratio.high is None
    assert 1.5 < (ratio.low or 0) < 3.0
    nothing, _ = analysed(drawn(11, 3.0, n=4), ends_h=20.0)
    assert nothing["part", "with", "", ""].p_value is None
    assert nothing["part", "with", "", ""].rate_ratio.value == pytest.approx(1 / 3, rel=0.1)


def test_too_few_failures_leave_the_rates() -> None:
    """Where one column of eight failed, there is no ratio of lives, and there is one of rates."""
    cells = drawn(11, 3.0, n=2)
    first = min(min(lives) for lives in cells.values())
    few, _ = analysed(cells, ends_h=1.001 * first)
    effect = few["part", "with", "", ""]
    assert effect.p_value is None
    assert "too few" in effect.ratio.reason
    assert effect.rate_ratio.value == pytest.approx(1 / 3, rel=0.2)


def test_without_bounds_the_likelihood_gives_the_t_interval() -> None:
    """The profile likelihood of known values has the ends of the t interval and its p value."""
    random = np.random.default_rng(8)
    design = np.column_stack([np.ones(9), np.repeat([-1.0, 1.0, 1.0], 3), np.tile([0.0, 1.0, 2.0], 3)])
    value = design @ [3.0, 0.4, 0.1] + 0.1 * random.standard_normal(9)
    known = LinearModel(design, value, np.zeros(9, dtype=np.bool_), np.zeros(9))
    exact = contrast(known, np.array([0.0, 2.0, 0.0]), 0.95)
    # A bound far below what the curve has says nothing.
    far = LinearModel(
        np.vstack([design, design[:1]]), np.append(value, -20.0), np.arange(10) == 9, np.zeros(10)
    )
    nearly = contrast(far, np.array([0.0, 2.0, 0.0]), 0.95)
    assert nearly.value == pytest.approx(exact.value, abs=1e-4)
    # The row more counts in the threshold, n ÷ 2 · log(1 + t² ÷ freedom), and in nothing else.
    assert (nearly.low, nearly.high) == pytest.approx((exact.low, exact.high), abs=0.03)


@pytest.mark.parametrize("ends_h", [1e9, 62.0])
def test_intervals_hold_the_truth(ends_h: float) -> None:
    """Intervals of the effect hold the true ratio in at least 53 of 60 simulated studies, with bounds too."""
    held, studies = 0, 60
    for seed in range(studies):
        ratio = analysed(drawn(1000 + seed, 1.6), ends_h=ends_h)[0]["part", "with", "", ""].ratio
        held += (ratio.low or 0.0) <= 1.6 <= (ratio.high or 1e9)
    # 95 % of 60 are 57; fewer than 53 come up in 2 of 100 such tests.
    assert held >= 53


def test_what_else_differs_is_a_stratum() -> None:
    """Two bondings, each with and without the part, are strata although they are no stated factor."""
    cells = drawn(21, 1.6, 2.0, sd=0.04)
    study, followed = design_of(cells, ("part",))
    columns = tuple(
        column(c.id, c.group, bonding=c.id.split("-")[1]) for c in study.columns
    )  # fmt: skip
    effects, interactions = factor_effects(replace(study, columns=columns), followed)
    (effect,) = main_effects(effects, *FOLLOWED)
    assert effect.ratio.value == pytest.approx(1.6, rel=0.1)
    assert [(one.other, one.finding) for one in interactions] == [("bonding", "alike")]


def test_what_is_stated_to_decide_is_adjusted_by_itself() -> None:
    """Main effects by what decides are two questions, their interaction a third; others take nothing."""
    cells = {
        ("with", "x"): (50, 61),
        ("without", "x"): (40, 44),
        ("with", "y"): (70, 86),
        ("without", "y"): (52, 66),
    }
    study, followed = design_of(cells, ("part", "bonding"))
    more = {**followed, ("caffeine", "retention_factor"): followed[FOLLOWED]}
    by_chance, _ = factor_effects(study, more)
    stated = replace(study, questions=(Question("q", "?", decides="plate_number_half_height of caffeine"),))
    chosen, interactions = factor_effects(stated, more)
    mains = [(one, other) for one, other in zip(by_chance, chosen, strict=True) if one.p_value is not None]
    deciding = [(one, other) for one, other in mains if one.metric == FOLLOWED[1]]
    assert len(deciding) == 2
    least = min(one.p_value for one, _ in deciding if one.p_value is not None)
    assert min(other.p_adjusted or 1.0 for _, other in deciding) == pytest.approx(2 * least)
    assert all((other.p_adjusted or 1.0) < (one.p_adjusted or 1.0) for one, other in deciding)
    alone = [one for one in interactions if one.metric == FOLLOWED[1]]
    assert [one.p_adjusted for one in alone] == [one.p_value for one in alone]
