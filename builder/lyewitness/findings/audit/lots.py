"""Audit of the lots: do the columns of one type live as long, whatever lot they come from?

In: `Evidence`. Out: `Point`s. Where lots of a type differ, its columns are no replicates of each other; a
difference between types is then held against the lots, and none is put down to the type that lots explain.
"""

from collections.abc import Iterator, Mapping, Sequence
from itertools import combinations
from math import exp, log
from statistics import fmean

import numpy as np

from lyewitness.decline.column_lives import ColumnLife, column_life
from lyewitness.decline.linear_models import Contrast, LinearModel, contrast
from lyewitness.decline.small_samples import holm
from lyewitness.findings.audit.points import Asked, Pair, Point, pairs_with
from lyewitness.findings.evidence import Evidence
from lyewitness.words.estimates import Estimate
from lyewitness.words.lives import tell_ratio
from lyewitness.words.metrics import the_metric
from lyewitness.words.numbers import p_value
from lyewitness.words.phrases import counted, kind_of, listed

Lots = Mapping[str, Sequence[ColumnLife]]
"""Lives of the columns of one type, by lot."""

ALIKE = Asked(
    "lots-alike",
    "Do lots of one type live equally long?",
    "Columns of one lot are then no independent replicates of the type, and another lot may live otherwise.",
    "Test columns of more lots, and compare the types lot by lot.",
)
ALIKE_WITHIN = 2.0
"""Ratio of lives that must lie outside the interval for lots to be called alike: types differ by so much."""
OVERLAP = Asked(
    "types-apart-lots",
    "Is a difference between types more than one between lots?",
    "A difference that lots of one type show, too, cannot be put down to the type.",
    "Test more lots of both types.",
)


def lot_words(name: str) -> str:
    """Return `lot 12` of a lot that the study calls `12` or `lot 12`."""
    return name if name.lower().startswith("lot") else f"lot {name}"


def lots_alike(evidence: Evidence) -> Iterator[Point]:
    """Ask of each type with several columns of a lot whether its lots differ, by the metric that decides."""
    differing: dict[str, Lots] = {}
    for group in evidence.study.groups:
        lots = _lots_of(evidence, group)
        replicated = len(lots) > 1 and any(len(lives) > 1 for lives in lots.values())
        if not replicated:
            # A lot of one column each: how lots scatter is in how columns scatter.
            continue
        found = _furthest(evidence, lots)
        # Questions may be decided by different metrics: what is true of lots by one need not be by another.
        by = the_metric(*evidence.judgement.deciding)
        if found is None:
            yield _cannot_tell(
                f"the {kind_of(group)} columns come from {counted(len(lots), 'lot')}, and too few of each "
                f"failed by {by} to tell whether lots differ",
                group,
            )
            continue
        longer, shorter, one, p = found
        ratio = tell_ratio(Estimate(_exp(one.value), _exp(one.low), _exp(one.high)))
        told = (
            f"the {kind_of(group)} columns of {lot_words(longer)} lasted {ratio} times as long as those of "
        )
        told += f"{lot_words(shorter)}, {p_value(p)}"
        if one.low is not None and one.low > 0 and p <= evidence.study.choices.alpha:
            differing[group] = lots
            yield ALIKE.says(
                "caution",
                told,
                group,
                bound="indicated",
                groups=(group,),
                pairs=pairs_with(evidence.study, [group]),
            )
        elif ratio and _is_close(one):
            yield ALIKE.good(f"no difference between lots is seen by {by}: {told}", group)
        else:
            lots_words = listed(lot_words(name) for name in lots)
            seen = f": {told}" if ratio else f": its columns come from {lots_words}"
            yield _cannot_tell(f"whether {kind_of(group)} lots differ by {by} cannot be told{seen}", group)
    if torn := _torn(evidence, differing):
        pairs = listed(" and ".join(sorted(pair)) for pair in torn)
        yield OVERLAP.says(
            "problem",
            f"the lots of one type differ so much that the lives of lots overlap between {pairs}",
            bound="not settled",
            pairs=torn,
        )


def _cannot_tell(said: str, group: str) -> Point:
    return ALIKE.says(
        "not possible",
        said,
        group,
        bearing="What is said of the type may hold for these lots only.",
        cure=ALIKE.cure.split(",")[0] + ".",
    )


def _is_close(one: Contrast) -> bool:
    """Return whether the interval of a ratio of lives (ln) leaves out that a lot lives much longer."""
    ends = (one.low, one.high)
    return all(end is not None and abs(end) < log(ALIKE_WITHIN) for end in ends)


def _lots_of(evidence: Evidence, group: str) -> Lots:
    """Return the lives of a type's columns by lot; none where a column's lot is not stated."""
    found: dict[str, list[ColumnLife]] = {}
    for column in evidence.study.replicates(group):
        decline = evidence.decline(column.id, *evidence.judgement.deciding)
        life = column_life(decline, "", evidence.study.choices.confidence) if decline is not None else None
        if not column.lot.strip():
            return {}
        if life is not None:
            found.setdefault(column.lot.strip(), []).append(life)
    return found


def _furthest(evidence: Evidence, lots: Lots) -> tuple[str, str, Contrast, float] | None:
    """Return (longer, shorter, contrast of log lives, p value after Holm) of the two lots furthest apart."""
    names = list(lots)
    lives = [life for name in names for life in lots[name]]
    design = np.array([[float(name == own) for name in names] for own in names for _ in lots[own]])
    model = LinearModel(
        design,
        np.array([life.at_least for life in lives]),
        np.array([life.value is None for life in lives]),
        np.array([life.own_error for life in lives]),
    )
    if model.freedom < 1:
        return None
    confidence = evidence.study.choices.confidence
    pairs = list(combinations(range(len(names)), 2))
    contrasts = [contrast(model, np.eye(len(names))[a] - np.eye(len(names))[b], confidence) for a, b in pairs]
    adjusted = holm([one.p_value for one in contrasts])
    best = min(range(len(pairs)), key=lambda place: adjusted[place])
    (a, b), one = pairs[best], contrasts[best]
    below = one.value < 0 if one.value is not None else one.high is not None and one.high < 0
    if below:
        turned = Contrast(_minus(one.value), _minus(one.high), _minus(one.low), one.p_value)
        return names[b], names[a], turned, adjusted[best]
    return names[a], names[b], one, adjusted[best]


def _minus(end: float | None) -> float | None:
    return None if end is None else -end


def _exp(end: float | None) -> float | None:
    return None if end is None else exp(end)


def _torn(evidence: Evidence, differing: Mapping[str, Lots]) -> tuple[Pair, ...]:
    """Return the pairs of types with differing lots of which the lives of lots overlap."""
    found: list[Pair] = []
    for first, second in combinations(evidence.study.groups, 2):
        if first not in differing and second not in differing:
            continue
        ends = []
        for group in (first, second):
            means = [fmean(life.at_least for life in lives) for lives in _lots_of(evidence, group).values()]
            ends.append((min(means, default=0.0), max(means, default=0.0)))
        (low, high), (other_low, other_high) = ends
        if low <= other_high and other_low <= high:
            found.append(frozenset((first, second)))
    return tuple(found)
