"""What the method page says of this stage.

In: the study's choices and the shipped results of the calibration. Out: headings and texts.

What simulated studies found is read from `calibration.json` beside this module, written by `python -m
tests.calibration`.
"""

import json
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from types import MappingProxyType
from typing import Any

import numpy as np

from lyewitness.decline import distributions as stats
from lyewitness.decline.bands import CERTAIN, INJECTIONS_TO_ONE_OUTLYING, MOST_POINTS, SHARED_BY_A_DAY
from lyewitness.decline.beyond import PACE_SD
from lyewitness.decline.doubted import DOUBTED
from lyewitness.decline.families import POWERS
from lyewitness.decline.lasting_steps import STAYED
from lyewitness.decline.noise import POINTS_FOR_NOISE
from lyewitness.decline.shared_noise import GROWTHS, SERIALS
from lyewitness.decline.shelf_life import POOLING_LEVEL
from lyewitness.study.records import Choices

CALIBRATION = Path(__file__).with_name("calibration.json")


@dataclass(frozen=True, slots=True)
class KindOfStudy:
    """One kind of simulated study and in how many of them each statement was true."""

    kind: str
    about: str
    shares: Mapping[str, tuple[int, int]]
    """By statement: (held, of)."""

    def percent(self, statement: str) -> float | None:
        """Return in how many of a hundred cases the statement held; None where it was never made."""
        held, cases = self.shares.get(statement, (0, 0))
        return 100.0 * held / cases if cases else None


@dataclass(frozen=True, slots=True)
class LawHeld:
    """Declines of one law, number of injections and noise, made by who did not know this program."""

    law: str
    n: int
    """Injections."""
    noise: str
    columns: int
    """Of each study: they tell each other what the noise is like."""
    series: int
    claims: int
    """Of which something was told that could be wrong."""
    held: int
    median_width_h: float | None
    """Of the intervals of lives that were reached."""
    median_bias_percent: float | None
    dead_called_alive: int
    """Said to be within the limit although clearly past it at the end."""

    @property
    def percent(self) -> float | None:
        """Return in how many of a hundred claims the truth was held."""
        return 100.0 * self.held / self.claims if self.claims else None


@dataclass(frozen=True, slots=True)
class Calibration:
    """All kinds of simulated studies."""

    studies: int
    """Of each kind."""
    kinds: tuple[KindOfStudy, ...]
    laws: tuple[LawHeld, ...] = ()
    """By law, number of injections and noise."""


def shipped_calibration() -> Calibration:
    """Return the results shipped with the program."""
    data = json.loads(CALIBRATION.read_text(encoding="utf-8"))
    kinds = (
        KindOfStudy(
            kind["kind"],
            kind["about"],
            {name: (share["held"], share["of"]) for name, share in kind["shares"].items()},
        )
        for kind in data["kinds"]
    )
    laws = tuple(LawHeld(**law) for law in data.get("laws", ()))
    return Calibration(data["studies"], tuple(kinds), laws)


LASTING_NOISES = ("days", "walk")
"""Noises of the calibration whose errors last from one injection to the next."""


def held_where_errors_last(injections: int) -> float | None:
    """Return per cent of intervals of 95 % that held the life in simulated studies of several columns with
    errors that last and at least so many injections; None where that was not simulated."""
    rows = [
        one
        for one in shipped_calibration().laws
        if one.columns > 1 and one.n >= injections and one.noise in LASTING_NOISES
    ]
    claims = sum(one.claims for one in rows)
    return 100.0 * sum(one.held for one in rows) / claims if claims else None


# Two hundredths about the 95 % that is claimed.
LEAST_COVERAGE, MOST_COVERAGE = 0.93, 0.97
LEAST_IN_A_CELL = 0.9
"""Of the claims on one law, number of injections and noise."""
# The level of the tests themselves.
MOST_FALSE = 0.05
LEAST_POWER = 0.9
"""Of that of one who knows the lives of all columns."""

RATES = (
    "Rates are compared by Welch’s t test on the logarithms of the columns’ own mean rates, which their "
    "curves give over the whole test, whatever their shape."
)


FACTORS = (
    "Factors",
    "Where the study states factors, log lives are taken apart by a linear model with the columns as "
    "replicates: what each level does against the first, as the mean over the levels of the other factors, "
    "and whether it does so alike at each of them. What else differs between columns of a level (bonding, "
    "particle, size) and paired blocks are strata. Where every life is known, by least squares with t "
    "intervals; where some were not reached, by the normal likelihood with these as bounds, whose threshold "
    "gives the t interval where there are none. An interaction is called alike only where its whole interval "
    "lies within the margin of equivalence. Where the columns leave fewer than two degrees of freedom beside "
    "it, it is taken for scatter, and nothing is said of it. Rates of decline are taken apart alike, on "
    "their logarithms, where every column shows one. p values are after Holm: the effects that one question "
    "asks for among themselves, interactions by the metric that decides likewise, those of rates by "
    "themselves, and all others together.",
)


def method_notes(choices: Choices, calibration: Path = CALIBRATION) -> tuple[tuple[str, str], ...]:
    """Return (heading, text) of what was done and of how true it proved in simulation."""
    return (
        ("Reference", _reference(choices)),
        ("Shapes of a decline", _shapes()),
        ("Noise and intervals", _noise(choices)),
        ("Outlying injections", _outlying()),
        ("Doubtful peaks", _doubted()),
        ("Life to a limit", _life(choices)),
        ("Groups", _groups(choices)),
        ("Comparisons", _comparisons(choices)),
        *simulated(calibration),
    )


def _percent(choices: Choices) -> str:
    return f"{100 * choices.confidence:g} %"


def _reference(choices: Choices) -> str:
    return (
        "Each metric is given in % of the column’s own reference: the mean of its first "
        f"{choices.reference_injections} used injections, or of those before a jump among them that was not "
        "undone, where two agree. The uncertainty of that mean, and its correlation "
        "with the curve, is carried into every interval of what is stated in % of it; not where the limit "
        "is stated in the metric’s own unit. Where the band of a curve shows that the metric began off that "
        "mean, having aged or settled among these injections, or where these reach into the exposure, the "
        "interval of a life holds also the life to the same share of what it began with. A limit that names "
        "no marker is not about the void marker."
    )


def _shapes() -> str:
    return (
        "Nobody knows by which law a column dies, so the curve is the median over many: a level with a "
        f"power of the exposure (exponents {min(POWERS):g} to {max(POWERS):g}), a delay, an approach to a "
        "rest, a logistic step or a jump between two injections, of the value and of its logarithm (powers "
        "of which are Weibull’s curves), each with a random departure from it, smooth or rough and of "
        "unknown size. All are weighed by their restricted likelihood, none is chosen, and the band holds "
        "what any of them makes likely. It is drawn neither below zero nor above twice what was measured at "
        "most: there nothing is known between two injections. The name of a shape (steady, straight line, "
        "first order, delayed, sigmoid) is that of the likeliest of five simple curves by Akaike’s criterion "
        "with the correction "
        "for few points; neither curve nor life rests on it. The rate is the mean relative loss per hour "
        "over the test, from the same curve as what remains."
    )


def _noise(choices: Choices) -> str:
    fading = ", ".join(f"{one.correlation:g}" for one in SERIALS if one.course == "injections")
    return (
        "Injections that follow each other may err alike, and a dying column may scatter more. Neither is "
        "taken as known: correlations from injection to injection of "
        f"{fading} and growths over the test of "
        f"{', '.join(f'{growth:g}' for growth in sorted(GROWTHS))} are weighed with the shapes, so that "
        "what may be curve or serial noise widens the band. So are errors that are one for all injections of "
        "a day, whenever that begins, the reference’s own day among them, and a slow drift over the test. "
        "Lasting errors of one column look like a bend of its decline; so what the noise is like is learnt "
        "from all columns of the study together, metric by metric, and a column alone, whose bends may be "
        "either, gets the wider band; the audit tells what a drift would make of its life. What the day of "
        "the reference has in common may show in no injection: as far as errors are not known to last, the "
        f"band holds up to {100 * SHARED_BY_A_DAY:g} % of the variance of an injection for it, less where "
        "many stand in a day. Days go by "
        "the clock where it is stated, else by exposure. The noise’s variance is integrated out, which gives "
        "Student’s t, with as many degrees of freedom as independent injections would say as much. Whether "
        "the noise is serial "
        f"or grows is also tested, from {POINTS_FOR_NOISE} injections on, by the ratio of restricted "
        f"likelihoods. Of more than {MOST_POINTS} injections "
        f"neighbours are averaged first. Intervals are two-sided at {_percent(choices)}. A drift of the "
        "instrument over the whole test cannot be told from a decline."
    )


def _outlying() -> str:
    return (
        f"An injection is outlying when, foretold by all others, it is {CERTAIN:g} times likelier to be one "
        "of the four in a hundred that may lie anywhere. It is shown, and left out of curve and life; at "
        f"most one in {INJECTIONS_TO_ONE_OUTLYING}, and one more. The first injection is never outlying, "
        "nor is a run of injections past a limit that lasts to the end, nor one after a sudden loss of which "
        f"all later ones show {STAYED:.0%} or more; where the last one alone is past a limit and might be, "
        "the life is 'unclear'."
    )


def _doubted() -> str:
    return (
        f"A value is doubted where its row’s confidence is below {DOUBTED:g}, or its own standard error "
        "leaves it that little. Foretold by the sound injections of its column alone, it is left out as "
        "outlying at the odds of its confidence: what they lead to expect counts, as when a column dies in "
        "split peaks, and so does a loss that all later ones which count show as well. Nothing is said to "
        "have held beyond the last injection that counts; doubted values "
        "past the limit there make the life 'unclear'. Beside it stands the life with all of them."
    )


def _life(choices: Choices) -> str:
    beyond = (
        "Nothing is extrapolated beyond what was run."
        if choices.extrapolate_to_h is None
        else f"Curves are followed up to {choices.extrapolate_to_h:g} h; what lies beyond the test is "
        "marked. "
        "There the pace may change: it is taken times a factor whose logarithm has a standard deviation of "
        f"{PACE_SD:g}."
    )
    return (
        "A life ends where the curve passes the limit; its interval ends where the band’s edges do, so "
        "that both can be read off the figure, and it always meets the bracket. Of a gap between two "
        "injections in which the limit was passed it holds nine tenths at least: nobody saw what went on "
        "there. Where a jump is likelier than not, the life lies in the bracket and has no value. A metric "
        "that was plainly past the limit in two injections or more, or in one and on the way there in "
        "another, and then well again has recovered: its life is 'unclear', and both times are told; it is "
        "unclear, too, where such a dip only touched the limit. One that passed it again for good ended "
        "between the first passing and the last. 'At least' is what "
        "the band shows where the limit was not reached. The bracket "
        "gives the last injection before any was past the limit, and the first from which all were. The "
        f"conservative life is where the one-sided {_percent(choices)} bound meets the limit (ICH Q1E; "
        f"columns are pooled where slopes and intercepts do not differ at {POOLING_LEVEL:g}). {beyond}"
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
        "typical life is the mean of the logarithms with the t interval of the columns’ scatter at "
        f"{_percent(choices)}. Lives that were not reached count as 'at least' in a log-normal likelihood "
        "whose threshold gives the t interval where all were reached. Columns at another temperature or pH "
        "than the study’s are kept out of group lives and comparisons, and go into the fit against "
        "temperature or pH."
    )


def _comparisons(choices: Choices) -> str:
    paired = "Columns of one block are compared with each other. " if choices.paired_blocks else ""
    return (
        f"{paired}Where all columns of both sides failed, Welch’s t test on log lives gives the ratio and "
        "its interval; errors that columns share, which their scatter does not show, are added with the "
        "degrees of freedom of the injections that they were read from, so that p is not that of the lives "
        "alone. Where one side outlived the test, the least of its lives is set against the normal "
        "prediction limit for the least of as many further columns of the other side, which takes both "
        "types to scatter alike; the ratio then has a bound only. Where columns of both sides outlived it, "
        "a log-rank test over all arrangements of the columns is used; with three against three it can "
        "never fall below p = 0.1. p values are corrected after Holm, and beside each stands for "
        "what. A question that was stated before the data were seen is a family of its own: the pairs of "
        "the groups that it names, by the metric that it names or says decides; one that names no metric "
        "asks for all of them. Questions on different matters are commonly taken so, each with its own "
        "error of one in twenty; whoever reads several at once has several chances to be misled. What no "
        "question asks for, or one asked after the last injection, is corrected for all comparisons of the "
        "study. 'No "
        "meaningful difference' needs the whole interval of the ratio to lie within the margin of "
        f"{choices.equivalence_margin_percent:g} % (two one-sided tests). One column on a side says nothing "
        f"of a type. {RATES}{_control(choices)}"
    )


def _control(choices: Choices) -> str:
    if not choices.control:
        return ""
    paired = ", but not here, where columns are paired in blocks" if choices.paired_blocks else ""
    return (
        f" Groups of which every life is known are compared with {choices.control} by Dunnett’s procedure"
        f"{paired}: one pooled scatter of log lives for all of them, p values and intervals that hold for "
        "all groups compared with it at once. In Holm’s adjustment these count as one comparison for each "
        "marker and metric."
    )


def simulated(calibration: Path) -> tuple[tuple[str, str], ...]:
    """Return what the calibration found and where it falls short; its shares are a table of their own."""
    heading = "How true the numbers proved in simulation"
    if not calibration.is_file():
        return ((heading, "The results of the simulation were not shipped with this copy."),)
    data = json.loads(calibration.read_text(encoding="utf-8"))
    short = shortfalls(data["kinds"])
    overview = (
        f"{data['studies']} studies of each kind in the table were simulated with seed {data['seed']} and "
        "judged as this one. Intervals claim to hold the truth in 95 % of cases; held in "
        f"{100 * LEAST_COVERAGE:g} to {100 * MOST_COVERAGE:g} % they count as true. A judge who knows the "
        "true lives reads them off the columns without error, and compares them by the same tests. "
    )
    verdict = (
        f"Where it falls short: {'; '.join(short)}." if short else "No kind falls short of what is claimed."
    )
    return ((heading, overview + verdict), *_laws(data.get("laws", ())))


def _laws(rows: Sequence[Mapping[str, Any]]) -> tuple[tuple[str, str], ...]:
    """Return how often lives held the truth on declines made without knowing this program."""
    if not rows:
        return ()
    fewest, most = min(row["n"] for row in rows), max(row["n"] for row in rows)
    dead, made = (sum(row[key] for row in rows) for key in ("dead_called_alive", "series"))
    cells = [row for row in rows if row["claims"]]
    held, claims = ([row[key] for row in cells] for key in ("held", "claims"))
    short = np.count_nonzero(np.less(stats.binom.cdf(held, claims, LEAST_IN_A_CELL), 0.05))
    return (
        (
            "Laws that were not fitted",
            f"{made} declines were made by somebody who did not know this program, with laws and noises "
            f"of their own, with {fewest} to {most} injections. {_held_words(rows)} In {short} of "
            f"{len(cells)} cells of law, number, noise and columns they surely (p < 0.05) held it less often "
            f"than in {100 * LEAST_IN_A_CELL:g} %. A column clearly past its limit at the end was called "
            f"within it in {dead} of {made} cases.",
        ),
    )


def _held_words(rows: Sequence[Mapping[str, Any]]) -> str:
    """Say how often intervals held the life, by the number of columns that were judged together."""
    said = []
    for columns in sorted({row["columns"] for row in rows}):
        own = [row for row in rows if row["columns"] == columns]
        by_law, by_noise = (
            ", ".join(f"{said_of(word)} {share:.0f} %" for word, share in _held_by(own, key).items())
            for key in ("law", "noise")
        )
        of = "of a column by itself" if columns == 1 else f"in studies of {columns} columns"
        said.append(f"Intervals of 95 % {of} held the life, by law: {by_law}; by noise: {by_noise}.")
    return " ".join(said)


SAID: Mapping[str, str] = MappingProxyType(
    {
        "weibull": "Weibull", "fast_slow": "first fast, then slow", "slow_fast": "first slow, then fast",
        "stairs_just_past": "stairs that end just past the limit", "dip": "a dip that passes",
        "indep_0.3": "independent of 0.3 %", "indep_1": "independent of 1 %",
        "ar_0.6": "serially correlated (0.6)",
        "days": "differing from day to day", "outliers": "with outliers", "walk": "a random walk",
    }
)  # fmt: skip
"""How laws and noises are told where their name in the table does not do."""


def said_of(word: str) -> str:
    """Return a law or noise of the calibration in words."""
    return SAID.get(word, word.replace("_", " "))


def _held_by(rows: Sequence[Mapping[str, Any]], key: str) -> dict[str, float]:
    """Return the share of claims that held, %, by the words of `key`."""
    found = {}
    for word in dict.fromkeys(row[key] for row in rows):
        own = [row for row in rows if row[key] == word]
        claims = sum(row["claims"] for row in own)
        if claims:
            found[word] = 100.0 * sum(row["held"] for row in own) / claims
    return found


def shares_of(kind: Mapping[str, Any]) -> dict[str, float]:
    """Return the shares of one kind, 0 … 1, by what they are of."""
    return {what: share["held"] / share["of"] for what, share in kind["shares"].items() if share["of"]}


def shortfalls(kinds: Sequence[Mapping[str, Any]]) -> list[str]:
    """Return where results are not what is claimed: each statement with the kinds it is of."""
    found: dict[str, list[str]] = {}
    for kind in kinds:
        for statement, share in _short_of(shares_of(kind)):
            found.setdefault(statement, []).append(f"{kind['kind']} {share}")
    return [f"{statement}: {', '.join(cases)}" for statement, cases in found.items()]


def _short_of(shares: Mapping[str, float]) -> Iterator[tuple[str, str]]:
    """Yield (statement, share in words) of one kind for what is not as claimed."""
    for what, share in shares.items():
        if not what.startswith("said to differ") and not LEAST_COVERAGE <= share <= MOST_COVERAGE:
            way = "wider than need be" if share > MOST_COVERAGE else "too narrow"
            yield f"intervals of the {what}, {way}", f"{100 * share:.1f} %"
    differ, knowing = shares.get("said to differ"), shares.get("said to differ by the all-knowing")
    if differ is not None and knowing is None and differ > MOST_FALSE:
        yield "equal types said to differ", f"{100 * differ:.1f} %"
    if differ is not None and knowing is not None and differ < LEAST_POWER * knowing:
        yield (
            "a difference seen less often than by a judge who knows the true lives",
            f"{differ / knowing:.2f} times",
        )
