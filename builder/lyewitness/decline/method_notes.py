"""What the method page says of this stage.

In: the study's choices and the shipped results of the calibration. Out: headings and texts.
"""

import json
from collections.abc import Mapping
from math import exp
from pathlib import Path
from typing import Any

from lyewitness.decline.calibrated import CALIBRATION
from lyewitness.decline.choosing import OUTLYING, PULLED_TO
from lyewitness.decline.mixed_rates import LEAST_COLUMNS, LEAST_INJECTIONS
from lyewitness.decline.noise import CORRELATIONS, GROWTHS, POINTS_FOR_NOISE
from lyewitness.decline.shelf_life import POOLING_LEVEL
from lyewitness.study.records import Choices
from lyewitness.words.numbers import fixed

LEAST_COVERAGE, MOST_COVERAGE = 0.93, 0.97
MOST_FALSE = 0.05
LEAST_POWER = 0.9
"""Of the oracle's."""

RATES = (
    f"Rates are compared from the columns' own rates; with {LEAST_COLUMNS} columns a side or more, each with "
    f"{LEAST_INJECTIONS} injections or more and a decline at one rate, by a mixed model in which level and "
    "slope of the logarithm differ at random between columns (restricted likelihood). Three columns do not "
    "bear these variances."
)


FACTORS = (
    "Factors",
    "Where the study states factors, log lives are taken apart by a linear model with the columns as "
    "replicates: what each level does against the first, as the mean over the levels of the other factors, "
    "and whether it does so alike at each of them. What else differs between columns of a level (bonding, "
    "particle, size) and paired blocks are strata. Where every life is known, by least squares with t "
    "intervals; where some were not reached, by the normal likelihood with these as bounds, whose threshold "
    "gives the t interval where there are none. An interaction is called alike only where its whole interval "
    "lies within the margin of equivalence. Single columns a cell leave no scatter but the interaction: it "
    "is then taken for scatter, and nothing is said of it. p values are after Holm over all effects and "
    "interactions, markers and metrics.",
)


def method_notes(choices: Choices, calibration: Path = CALIBRATION) -> tuple[tuple[str, str], ...]:
    """Return (heading, text) of what was done and of how true it proved in simulation."""
    return (
        ("Reference", _reference(choices)),
        ("Shapes of a decline", _shapes()),
        ("Noise and intervals", _noise(choices)),
        ("Outlying injections", _outlying()),
        ("Life to a limit", _life(choices)),
        ("Groups", _groups(choices)),
        ("Comparisons", _comparisons(choices)),
        *simulated(calibration),
    )


def _percent(choices: Choices) -> str:
    return f"{100 * choices.confidence:g} %"


def _reference(choices: Choices) -> str:
    return (
        "Each metric is given in % of the column's own reference: the mean of its first "
        f"{choices.reference_injections} used injections. The uncertainty of that mean, and its correlation "
        "with the curve, is carried into every interval of what is stated in % of it; not where the limit "
        "is stated in the metric's own unit. A limit that names no marker is not about the void marker."
    )


def _shapes() -> str:
    return (
        "Steady, straight line, first order, delayed (nothing happens at first, then first order) and "
        "sigmoid are fitted; first order and delayed fall to nothing or come to rest at a level of their "
        "own. Akaike's criterion with the correction for few points names the shape, and no shape is tried "
        "that has more parameters than the points can bear. The curve is the mean of all shapes, each with "
        "its Akaike weight, and the spread between them widens its band: where two shapes fit alike, naming "
        "one of them is a guess."
    )


def _noise(choices: Choices) -> str:
    return (
        "Injections that follow each other err alike, and a dying column scatters more. The noise is "
        "described by its lag-one correlation and by its growth as the metric changes. Both are tested for, "
        f"from {POINTS_FOR_NOISE} injections on, by the ratio of restricted likelihoods. Neither is taken "
        f"as known: every interval is a mean over correlations from {fixed(CORRELATIONS[0], 1)} to "
        f"{CORRELATIONS[-1]:g} and growths from {exp(GROWTHS[0]):.2g} to {exp(GROWTHS[-1]):.2g}, weighted "
        "by restricted likelihood, with Student's t. Blocks were not resampled: some twenty injections make "
        f"too few of them. Intervals are two-sided at {_percent(choices)}."
    )


def _outlying() -> str:
    return (
        f"An injection is outlying when it lies more than {OUTLYING:g} robust standard deviations (from the "
        "median absolute residual of all injections, or of the nine about it where that is larger) off the "
        f"curve. It is kept and shown, and counts as if it lay {PULLED_TO:g} of them off. Nothing is "
        "dropped but what the study itself leaves out, with its reason."
    )


def _life(choices: Choices) -> str:
    beyond = (
        "Nothing is extrapolated beyond what was run."
        if choices.extrapolate_to_h is None
        else f"Curves are followed up to {choices.extrapolate_to_h:g} h; what lies beyond the test is marked."
    )
    return (
        "A life ends where the curve passes the limit; its interval ends where the band's edges do, so that "
        "both can be read off the figure. 'At least' is what the band shows where the limit was not "
        "reached. The bracket gives the last injection before any was past the limit, and the first from "
        f"which all were. The conservative life is where the one-sided {_percent(choices)} bound meets the "
        "limit (ICH Q1E; columns are pooled where slopes and intercepts do not differ at "
        f"{POOLING_LEVEL:g}). {beyond}"
    )


def _groups(choices: Choices) -> str:
    return (
        "Columns are the replicates, however many injections there are. A column has failed where its life "
        "is 'reached': where the curve and its whole band passed the limit before the test ended, or where "
        "the injections themselves did. Where the curve passes so late that the band does not, its life is "
        "'unclear', and it is not among those that failed, first or last. A group has a typical life where "
        "half of its measured columns, and two at least, have failed (or the only one has). Else it has a "
        "lower bound and no estimate: it is 'not reached' where every column surely outlived the test, and "
        "'unclear' otherwise. In the typical life and in comparisons an unclear column counts by its curve "
        "where the group has a typical life and the curve passes no sooner than that of the first column "
        "that failed; else as 'at least' what its band shows. Nothing is extrapolated for a group. The "
        "typical life is the mean of the logarithms with the t interval of the columns' scatter at "
        f"{_percent(choices)}. Lives that were not reached count as 'at least' in a log-normal likelihood "
        "whose threshold gives the t interval where all were reached. Columns at another temperature or pH "
        "than the study's are kept out of group lives and comparisons, and go into the fit against "
        "temperature or pH."
    )


def _comparisons(choices: Choices) -> str:
    paired = "Columns of one block are compared with each other. " if choices.paired_blocks else ""
    return (
        f"{paired}Where all columns of both sides failed, Welch's t test on log lives gives the ratio and "
        "its interval. Where one side outlived the test, the least of its lives is set against the normal "
        "prediction limit for the least of as many further columns of the other side, which takes both "
        "types to scatter alike; the ratio then has a bound only. Where columns of both sides outlived it, "
        "a log-rank test over all arrangements of the columns is used; with three against three it can "
        "never fall below p = 0.1. All p values of a report are adjusted together after Holm. 'No "
        "meaningful difference' needs the whole interval of the ratio to lie within the margin of "
        f"{choices.equivalence_margin_percent:g} % (two one-sided tests). One column on a side says nothing "
        f"of a type. {RATES}{_control(choices)}"
    )


def _control(choices: Choices) -> str:
    if not choices.control:
        return ""
    paired = ", but not here, where columns are paired in blocks" if choices.paired_blocks else ""
    return (
        f" Groups of which every life is known are compared with {choices.control} by Dunnett's procedure"
        f"{paired}: one pooled scatter of log lives for all of them, p values and intervals that hold for "
        "all groups compared with it at once. In Holm's adjustment these count as one comparison for each "
        "marker and metric."
    )


def simulated(calibration: Path) -> tuple[tuple[str, str], ...]:
    """Return what the calibration found and where it falls short; its shares are a table of their own."""
    heading = "How true the numbers proved in simulation"
    if not calibration.is_file():
        return ((heading, "The results of the simulation were not shipped with this copy."),)
    data = json.loads(calibration.read_text(encoding="utf-8"))
    short = [text for kind in data["kinds"] for text in shortfalls(kind)]
    overview = (
        f"{data['studies']} studies of each kind in the table were simulated with seed {data['seed']} and "
        "judged as this one. Intervals claim to hold the truth in 95 % of cases; held in "
        f"{100 * LEAST_COVERAGE:g} to {100 * MOST_COVERAGE:g} % they count as true. The oracle knows the law "
        "of every column and fits it; the all-knowing reads the lives off the columns without error. "
    )
    verdict = (
        " ".join(["Where it falls short:", *short]) if short else "No kind falls short of what is claimed."
    )
    return ((heading, overview + verdict),)


def shares_of(kind: Mapping[str, Any]) -> dict[str, float]:
    """Return the shares of one kind, 0 … 1, by what they are of."""
    return {what: share["held"] / share["of"] for what, share in kind["shares"].items() if share["of"]}


def shortfalls(kind: Mapping[str, Any]) -> list[str]:
    """Return where the results of one kind are not what is claimed, a sentence each."""
    shares = shares_of(kind)
    found = [
        f"{kind['kind']}: intervals of the {what} hold the truth in {100 * share:.1f} % of cases, "
        f"{'wider than need be' if share > MOST_COVERAGE else 'too narrow'}."
        for what, share in shares.items()
        if not what.startswith("said to differ") and not LEAST_COVERAGE <= share <= MOST_COVERAGE
    ]
    differ, oracle = shares.get("said to differ"), shares.get("said to differ by the oracle")
    if differ is None:
        return found
    if oracle is None and differ > MOST_FALSE:
        found.append(f"{kind['kind']}: {100 * differ:.1f} % of equal studies are said to differ.")
    if oracle is not None and differ < LEAST_POWER * oracle:
        found.append(
            f"{kind['kind']}: a difference is seen {differ / oracle:.2f} times as often as by the oracle."
        )
    return found
