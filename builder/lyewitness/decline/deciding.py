"""Which marker and metric decides: the one that fails first most often, and can speak for the bed.

In: declines to a limit and the comparisons by them. Out: (marker, metric).

What failed first on each column comes before it; a column failed where a life of it is `reached`.
"""

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from math import inf
from statistics import median

from lyewitness.decline.records import Comparison, Decline, FirstFailure, Life
from lyewitness.decline.usable_lives import ended_at, usable_life
from lyewitness.study.records import Study
from lyewitness.words.estimates import Estimate


def first_failure(column: str, group: str, declines: Sequence[Decline]) -> FirstFailure:
    """Return the metric whose limit the column passed first, with those that cannot be told from it.

    Those may hold one that is unclear: its curve may have passed before.
    """
    limited = [decline for decline in declines if decline.limit is not None]
    whole = usable_life(limited)
    if whole is None:
        why = "no limited metric was measured on this column"
        return FirstFailure(column, group, "", "", Life("not measured", Estimate(reason=why)))
    first = whole.failed_by
    if first is None:
        return FirstFailure(column, group, "", "", _nothing_failed(limited, whole.low))
    latest = first.life.hours.high
    tied = [
        (decline.series.marker, decline.series.metric)
        for decline in limited
        if decline is not first
        and (ended_at(decline.life) < inf or _may_have_ended(decline.life, latest))
        # One that was seen past its limit where the other was still within its own failed first.
        and (latest is None or (decline.life.hours.low or 0.0) < latest)
    ]
    return FirstFailure(column, group, first.series.marker, first.series.metric, first.life, tuple(tied))


def _may_have_ended(life: Life, latest: float | None) -> bool:
    """Return whether an unclear life of which no end is known may have ended before the `latest` hours.

    Not where an injection so late was seen within the limit.
    """
    within = life.bracket_h[0]
    return life.state == "unclear" and (latest is None or within is None or within < latest)


def _nothing_failed(limited: Iterable[Decline], shown: float) -> Life:
    """Return the life of a column that nothing failed on: at least as long as the shortest bound."""
    if any(decline.life.state == "unclear" for decline in limited):
        why = "a limit was passed so late, if at all, that the band of the curve does not show it"
        return Life("unclear", Estimate(None, shown, None, why))
    return Life("not reached", Estimate(None, shown, None, "no limit was reached during the test"))


Followed = tuple[str, str]
"""(marker, metric)"""
NOTHING: Followed = ("", "")
LEAST_RETENTION_FACTOR = 1.0
"""Below it a peak's width is made outside the bed as much as in it: its plates say little of the bed."""


def deciding(
    declines: Iterable[Decline],
    comparisons: Iterable[Comparison],
    groups: Sequence[str],
    retention: Mapping[str, float],
) -> Followed:
    """Return the marker and metric that decides between `groups`; two empty words where none has a limit.

    The one that fails first on most columns; of those that do as often, the one whose comparisons are the
    surest. Where nothing failed, the one that has gone the greatest part of the way to its limit. A marker
    retained less than `LEAST_RETENTION_FACTOR` (`retention`: by marker) decides only where no other can.
    """
    inside = [d for d in declines if d.limit is not None and d.series.group in groups]
    least = LEAST_RETENTION_FACTOR
    can = [d for d in inside if retention.get(d.series.marker, least) >= least]
    return _of(can, comparisons, groups) if any(_speaks(d) for d in can) else _of(inside, comparisons, groups)


def key_of(decline: Decline) -> Followed:
    """Return (marker, metric) of a decline."""
    return decline.series.marker, decline.series.metric


def retention_factors(study: Study, declines: Iterable[Decline]) -> dict[str, float]:
    """Return the retention factor of each marker on fresh columns (median) where known; 0 of a void."""
    found: dict[str, list[float]] = {marker.id: [0.0] for marker in study.markers if marker.role == "void"}
    for decline in declines:
        if decline.series.metric == "retention_factor" and decline.reference_value is not None:
            found.setdefault(decline.series.marker, []).append(decline.reference_value)
    return {marker: median(values) for marker, values in found.items()}


def _speaks(decline: Decline) -> bool:
    """Return whether a decline of a marker says anything of a life; pressure speaks for no marker."""
    return bool(decline.series.marker) and decline.life.state != "not measured"


def _of(declines: Sequence[Decline], comparisons: Iterable[Comparison], groups: Sequence[str]) -> Followed:
    by_column: dict[str, list[Decline]] = {}
    for decline in declines:
        by_column.setdefault(decline.series.column, []).append(decline)
    lives = [usable_life(own) for own in by_column.values()]
    votes = Counter(key_of(life.failed_by) for life in lives if life is not None and life.failed_by)
    if votes:
        surest = _surest(comparisons, groups)
        return min(votes, key=lambda key: (-votes[key], surest.get(key, 1.0), key))
    seen = [decline for decline in declines if decline.remaining.value is not None]
    nearest = max(seen, key=_way_gone, default=None)
    return key_of(nearest) if nearest else NOTHING


def _surest(comparisons: Iterable[Comparison], groups: Sequence[str]) -> dict[Followed, float]:
    """Return the lowest p value with which each metric tells two of the groups apart."""
    surest: dict[Followed, float] = {}
    for one in comparisons:
        if one.group_a in groups and one.group_b in groups and one.p_value is not None:
            key = (one.marker, one.metric)
            surest[key] = min(surest.get(key, 1.0), one.p_value)
    return surest


def _way_gone(decline: Decline) -> float:
    """Return which part of the way from its reference to its limit a metric has gone."""
    if decline.remaining.value is None or decline.limit_percent in (None, 100.0):
        return float("-inf")
    return (100 - decline.remaining.value) / (100 - (decline.limit_percent or 0.0))
