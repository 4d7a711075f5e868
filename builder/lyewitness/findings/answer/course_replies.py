"""How a metric went that a question names: how fast on each group and, without a limit, where it went faster.

In: `Evidence`, a `Scope`. Out: replies and `Claim`s. A metric without a limit has no life, and its rates are
what the data do tell: each column's mean loss an hour over the test, the columns of a group as replicates.
"""

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import combinations
from statistics import fmean

import numpy as np

from lyewitness.decline.group_lives import mean_of
from lyewitness.decline.records import Decline
from lyewitness.decline.small_samples import holm, welch
from lyewitness.findings import because
from lyewitness.findings.answer.question_scope import Metric, Scope
from lyewitness.findings.answer.reading_questions import EARLIER, NEGATED, read_question, read_spans
from lyewitness.findings.audit.points import Point, bounded
from lyewitness.findings.evidence import Evidence
from lyewitness.findings.records import Claim, Strength
from lyewitness.study.questions import asked_metric
from lyewitness.words.estimates import Estimate
from lyewitness.words.metrics import the_metric
from lyewitness.words.numbers import interval, rounded
from lyewitness.words.phrases import CANNOT_TELL, columns_of, hours, listed, percent, run_together

LEAST_RATE_PERCENT = 0.01
"""A loss of 1 % in 100 h; what is slower is not told from a standstill in a study of some days."""
UNEVEN = 3.0
"""Times the slowest column's rate: of columns further apart than that, their mean describes none."""
WORSE = re.compile(r"\b(earlier|sooner|faster|quicker|more|worse|stronger|first)\b", re.IGNORECASE)
BETTER = re.compile(r"\b(later|slower|less|better|longer|last)\b", re.IGNORECASE)
TAILS = re.compile(r"\btail(s|ed|ing)?\b", re.IGNORECASE)


@dataclass(frozen=True, slots=True)
class Pace:
    """How fast a metric goes on one group."""

    group: str
    rates: tuple[Estimate, ...]
    """Loss an hour (1/h) of each column; negative where the metric rises."""
    mean: Estimate
    """Of the columns, 1/h."""

    @property
    def still(self) -> bool:
        """Return whether it is too slow to be told from a standstill."""
        return abs(100 * (self.mean.value or 0.0)) < LEAST_RATE_PERCENT

    @property
    def words(self) -> str:
        """Return `1.1 % (0.9 to 1.2) an hour`, without its sign.

        Where the columns leave no interval for their mean, `1.1 % an hour (0.2 to 2.4 on its columns)`.
        """
        mean = self.rates[0] if len(self.rates) == 1 else self.mean
        value, low, high = (
            None if end is None else 100 * abs(end) for end in (mean.value, mean.low, mean.high)
        )
        crosses = (mean.low or 0.0) * (mean.high or 0.0) < 0
        if value is None or low is None or high is None or crosses:
            if self._is_uneven:
                return f"{self._ends()} % an hour (it differs that much from column to column)"
            return f"{percent(value or 0.0)} an hour{self._apart()}"
        return f"{interval(Estimate(value, min(low, high), max(low, high)), '%')} an hour"

    @property
    def _is_uneven(self) -> bool:
        """Return whether the columns' rates lie so far apart that no single one describes them."""
        own = sorted(abs(rate.value or 0.0) for rate in self.rates)
        return len(own) > 1 and own[-1] > UNEVEN * max(own[0], LEAST_RATE_PERCENT / 100)

    def _apart(self) -> str:
        """Return between which rates the columns lie, or that the one column's is hardly known."""
        if len(self.rates) < 2:
            return " (which its scatter does not tell from none)"
        return f" ({self._ends()} on its columns)"

    def _ends(self) -> str:
        """Return the slowest and the fastest column's rate, `0.2 to 2.4`, in the direction of the mean."""
        falls = 1 if (self.mean.value or 0.0) >= 0 else -1
        own = sorted(100 * falls * (rate.value or 0.0) for rate in self.rates)
        ends = (rounded(0.0 if abs(end) < LEAST_RATE_PERCENT else end, 2) for end in (own[0], own[-1]))
        return " to ".join(ends)


@dataclass(frozen=True, slots=True)
class Faster:
    """Two groups on which a metric surely goes at different rates."""

    faster: Pace
    slower: Pace
    p_value: float


def without_limit(evidence: Evidence, scope: Scope) -> Metric | None:
    """Return the metric that the question names where it has no limit but was measured; else None."""
    named = list(asked_metric(scope.question.text, evidence.study))
    limited = {(d.series.marker, d.series.metric) for d in evidence.judgement.declines if d.limit is not None}
    if any(metric in limited for metric in named):
        return None
    return next(
        (metric for metric in named if any(_declines(evidence, g, metric) for g in scope.groups)), None
    )


def _declines(evidence: Evidence, group: str, metric: Metric) -> list[Decline]:
    found = [evidence.decline(column.id, *metric) for column in evidence.study.replicates(group)]
    return [decline for decline in found if decline is not None]


def pace_of(evidence: Evidence, group: str, metric: Metric) -> Pace | None:
    """Return how fast `metric` goes on `group`; None where no rate is known."""
    rates = tuple(d.rate_per_h for d in _declines(evidence, group, metric) if d.rate_per_h.value is not None)
    return Pace(group, rates, mean_of(rates, evidence.study.choices.confidence)) if rates else None


def rate_replies(evidence: Evidence, scope: Scope) -> list[str]:
    """Return how fast the metric that is named changes on each group, else the deciding one, where asked."""
    if not read_question(scope.question.text, evidence.study.groups).rate or not scope.deciding[1]:
        return []
    metric = rated_metric(evidence, scope)
    said = _rates_words(metric, _paces(evidence, scope, metric))
    return [said] if said else []


def rated_metric(evidence: Evidence, scope: Scope) -> Metric:
    """Return the metric of which a question asks how fast it goes: one that it names, else what decides."""
    named = asked_metric(scope.question.text, evidence.study)
    return next((metric for metric in named if _paces(evidence, scope, metric)), scope.single)


def _paces(evidence: Evidence, scope: Scope, metric: Metric) -> list[Pace]:
    found = (pace_of(evidence, group, metric) for group in scope.groups)
    return [pace for pace in found if pace is not None]


def _rates_words(metric: Metric, paces: Sequence[Pace]) -> str:
    """Return `the plate number of x falls by 0.3 % (…) an hour on A and shows no change on B`."""
    said = []
    for verb, sign in (("falls", 1), ("rises", -1)):
        own = [p for p in paces if not p.still and (p.mean.value or 0.0) * sign > 0]
        if own:
            said.append(f"{verb} by {listed(f'{pace.words} on {pace.group}' for pace in own)}")
    still = [pace.group for pace in paces if pace.still]
    if still:
        said.append(f"shows no change on {listed(still, 'or')}")
    return f"{the_metric(*metric)} {listed(said)}" if said else ""


def course_replies(evidence: Evidence, points: Sequence[Point], scope: Scope) -> list[str]:
    """Return the answer on a metric that has no limit: where it goes faster, how fast, and how far."""
    metric = without_limit(evidence, scope)
    if metric is None:
        return []
    paces = _paces(evidence, scope, metric)
    still = all(pace.still for pace in paces)
    found = _faster(evidence, paces)
    lead = _verdict(evidence, points, scope, metric, paces, found)
    rates = _rates_words(metric, paces)
    if lead and rates:
        rates = rates.replace(the_metric(*metric), "it", 1)
    elif len(paces) > 1 and EARLIER.search(scope.question.text) and still:
        # Who asks where it goes earlier hears that it goes nowhere.
        asks = read_question(scope.question.text, evidence.study.groups).yes_or_no
        rates = f"no, as far as these data tell: {rates}" if asks and rates else rates
    given = "there is no time to compare" if still else "a rate is given and no time"
    none = f"the study sets no limit on {the_metric(*metric)}, so that {given}"
    return [said for said in (lead, rates, _stood(evidence, scope, metric), none) if said]


def _faster(evidence: Evidence, paces: Sequence[Pace]) -> list[Faster]:
    """Return the pairs of which the rates differ, by Welch's test after Holm; of single columns by none."""
    tested = []
    for one, other in combinations(paces, 2):
        if min(len(one.rates), len(other.rates)) > 1:
            a, b = (np.array([rate.value for rate in pace.rates], dtype=np.float64) for pace in (one, other))
            tested.append((one, other, welch(a, b, np.zeros_like(a), np.zeros_like(b))))
    p_values = holm([difference.p_value for *_, difference in tested])
    found = []
    for (one, other, _), p in zip(tested, p_values, strict=True):
        if p <= evidence.study.choices.alpha:
            quick, slow = (one, other) if _speed(one) > _speed(other) else (other, one)
            found.append(Faster(quick, slow, p))
    return found


def _speed(pace: Pace) -> float:
    return abs(pace.mean.value or 0.0)


def _verdict(
    evidence: Evidence,
    points: Sequence[Point],
    scope: Scope,
    metric: Metric,
    paces: Sequence[Pace],
    found: Sequence[Faster],
) -> str:
    """Return yes or no, where that is asked of two groups, with where the metric goes faster."""
    if len(paces) < 2 or all(pace.still for pace in paces):
        return ""
    if not found:
        alone = min(len(pace.rates) for pace in paces) < 2
        why = ": single columns say nothing of their types" if alone else ""
        if untrue := _goes_against(scope, metric, paces):
            return untrue
        return f"{CANNOT_TELL} on which group {the_metric(*metric)} {_goes(paces)} faster{why}"
    word = ""
    asked = asked_worse(evidence, scope)
    if asked and read_question(scope.question.text, evidence.study.groups).yes_or_no:
        agree = any(one.faster.group == asked for one in found)
        against = any(one.slower.group == asked for one in found)
        word = "No: " if against else "Yes: " if agree else ""
    seems = any(bounded("shown", points, (x.faster.group, x.slower.group)) != "shown" for x in found)
    said = listed(
        f"faster on {columns_of(one.faster.group)} than on {columns_of(one.slower.group)}" for one in found
    )
    return (
        f"{word}{the_metric(*metric)} {_goes(paces)} {said}{', as far as these data tell' if seems else ''}"
    )


def _goes(paces: Sequence[Pace]) -> str:
    return "falls" if fmean(pace.mean.value or 0.0 for pace in paces) > 0 else "rises"


def _goes_against(scope: Scope, metric: Metric, paces: Sequence[Pace]) -> str:
    """Return that no base tails, where that is asked and symmetry did not rise on any group; else nothing."""
    if metric[1] != "symmetry_factor" or not TAILS.search(scope.question.text):
        return ""
    if any((pace.mean.value or 0.0) < 0 and not pace.still for pace in paces):
        return ""
    one = "neither" if len(paces) == 2 else "none"
    return f"on {one} of them, as far as these data tell: {the_metric(*metric)} did not rise"


def asked_worse(evidence: Evidence, scope: Scope) -> str:
    """Return the group that a question expects to go faster: `earlier on A than on B`, `less on B`."""
    text = scope.question.text
    named = scope.asked
    if NEGATED.search(text) or not named or bool(WORSE.search(text)) == bool(BETTER.search(text)):
        return ""
    if WORSE.search(text):
        return named[0]
    rest = named[1:] or [group for group in scope.groups if group != named[0]]
    return rest[0] if len(rest) == 1 else ""


def _stood(evidence: Evidence, scope: Scope, metric: Metric) -> str:
    """Return where the metric stood on each group at the hours that are asked about, else at the end."""
    spans = read_spans(scope.question.text, scope.question.run_time_min)
    at = scope.question.span_h or (spans[0].hours if spans else None)
    at_value: dict[str, list[str]] = {}
    for group in scope.groups:
        left = [value for d in _declines(evidence, group, metric) if (value := _left(d, at)) is not None]
        if left:
            at_value.setdefault(percent(round(fmean(left)), 3), []).append(group)
    said = list[str]()
    for told, groups in at_value.items():
        of = "" if said else " of its reference"
        where = f" on {listed(groups)}" if len(scope.groups) > 1 else ""
        said.append(f"{told}{of}{where}")
    when = f"after {hours(at)}" if at is not None else "at the end"
    return f"{when} it stood at {listed(said)}" if said else ""


def went_words(evidence: Evidence, scope: Scope, metric: Metric) -> list[str]:
    """Return from where to where a metric went on the columns of each group that is compared."""
    said = list[str]()
    for group in scope.compared:
        ends = ends_of(evidence, group, metric)
        if ends is None:
            return []
        was = "" if said else f"{the_metric(*metric)} was "
        said.append(f"{was}{ends[0]} at first and {ends[1]} at last on {columns_of(group)}")
    return [listed(said)] if said else []


def ends_of(evidence: Evidence, group: str, metric: Metric) -> tuple[str, str] | None:
    """Return what a metric was on the columns of a group at first and at last; None where nobody knows."""
    seen = [evidence.values(column.id, *metric) for column in evidence.study.replicates(group)]
    ends = [(values[0], values[-1]) for values in seen if len(values) > 1]
    if not ends:
        return None
    return _span_words([first for first, _ in ends]), _span_words([last for _, last in ends])


def _span_words(values: Sequence[float]) -> str:
    """Return `1.3`, or `1.3 to 1.5` where columns differ."""
    return " to ".join(
        dict.fromkeys(rounded(float(f"{value:.3g}"), 3) for value in (min(values), max(values)))
    )


def _left(decline: Decline, at_h: float | None) -> float | None:
    """Return what is left in % of the reference at an exposure, None beyond the test, by the fitted curve."""
    if at_h is None:
        return decline.remaining.value
    hours_of, curve = decline.curve_h, decline.curve_percent
    if not len(hours_of) or at_h > hours_of[-1]:
        return None
    return float(np.interp(at_h, hours_of, curve))


def course_claims(evidence: Evidence, points: Sequence[Point], scope: Scope) -> Iterator[Claim]:
    """Say how fast a metric goes that is asked about and has no limit, and on which group faster."""
    metric = without_limit(evidence, scope)
    if metric is None:
        return
    paces = _paces(evidence, scope, metric)
    if not paces:
        return
    found = _faster(evidence, paces)
    said = _verdict(evidence, points, scope, metric, paces, found).removeprefix("Yes: ").removeprefix("No: ")
    strength: Strength = "not settled"
    if found:
        strength = bounded("shown", points, tuple(pace.group for pace in paces))
    links = tuple(link for pace in paces for link in because.of_declines(evidence, pace.group, *metric))
    rates = _rates_words(metric, paces)
    rates = rates.replace(the_metric(*metric), "it", 1) if said else rates
    yield Claim(scope.claim_id("course"), run_together([said, rates]), strength, links)
