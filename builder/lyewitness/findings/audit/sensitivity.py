"""Would the answer change if what was left out were counted in?

In: `Evidence`; the judgement is made again with every injection used. Out: a `Point`.
"""

from collections.abc import Iterator
from dataclasses import replace

from lyewitness.decline.judging import judge
from lyewitness.decline.records import Comparison, Judgement
from lyewitness.findings.audit.injections import is_blank
from lyewitness.findings.audit.points import Asked, Pair, Point, groups_of, pairs_with, subject_of
from lyewitness.findings.audit.results import longer_lived
from lyewitness.findings.evidence import Evidence
from lyewitness.findings.wording import counted, life_words, listed, metric_of

WITH_ALL = Asked(
    "left-out-counted-in",
    "Does the answer change with the left-out injections in?",
    "An answer that hangs on what was left out is only as good as the reasons for leaving it out.",
    "Repeat these injections, or show from outside the chromatogram that they failed.",
)


def with_all(evidence: Evidence) -> Iterator[Point]:
    """Ask whether a pair is settled otherwise with every left-out injection used; blanks stay out."""
    out = [i for i in evidence.study.injections if not i.used and not is_blank(i)]
    marker, metric = evidence.judgement.deciding
    if not out or not metric:
        return
    again = judged_with_all(evidence)
    turned, weakened = _changed(evidence, again)
    columns = [injection.column for injection in out]
    lives = _lives_words(evidence, again)
    detail = f"with {counted(len(out), 'injection')} counted in, {metric_of(marker, metric)}, {lives}"
    if turned:
        yield WITH_ALL.says(
            "problem", f"the answer turns round: {detail}", subject_of(evidence, columns),
            bound="not settled", pairs=turned, groups=groups_of(evidence, columns),
        )  # fmt: skip
    elif weakened:
        pairs = listed(" against ".join(sorted(pair)) for pair in weakened)
        yield WITH_ALL.says(
            "problem", f"the finding changes for {pairs}: {detail}", subject_of(evidence, columns),
            bound="indicated", pairs=weakened,
        )  # fmt: skip
    else:
        point = WITH_ALL.good(f"the answer is the same: {detail}", subject_of(evidence, columns))
        yield replace(point, pairs=pairs_with(evidence.study, groups_of(evidence, columns)))


def judged_with_all(evidence: Evidence) -> Judgement:
    """Return the judgement with every injection used but the blanks."""
    blanks = {i.id for i in evidence.study.injections if is_blank(i)}
    injections = tuple(
        i if i.id in blanks else replace(i, used=True, why="") for i in evidence.study.injections
    )
    rows = tuple(
        row if row.injection in blanks else replace(row, used=True) for row in evidence.measurements.rows
    )
    study = replace(evidence.study, injections=injections)
    return judge(study, replace(evidence.measurements, rows=rows))


def _changed(evidence: Evidence, again: Judgement) -> tuple[list[Pair], list[Pair]]:
    """Return the pairs that are settled the other way round, and those settled in one judgement only."""
    turned: list[Pair] = []
    weakened: list[Pair] = []
    renewed = {_key(comparison): comparison for comparison in again.comparisons}
    for before in evidence.judgement.comparisons:
        after = renewed.get(_key(before))
        if (before.marker, before.metric) != evidence.judgement.deciding or after is None:
            continue
        pair = frozenset((before.group_a, before.group_b))
        if before.finding != after.finding:
            both = longer_lived(before) and longer_lived(after)
            (turned if both else weakened).append(pair)
    return turned, weakened


def _key(comparison: Comparison) -> tuple[str, str, str, str]:
    return comparison.group_a, comparison.group_b, comparison.marker, comparison.metric


def _lives_words(evidence: Evidence, again: Judgement) -> str:
    """Return the lives of the groups with all counted in, and as they are answered."""
    marker, metric = evidence.judgement.deciding
    said = []
    for renewed in again.group_lives:
        before = evidence.group_life(renewed.group, marker, metric)
        if (renewed.marker, renewed.metric) == (marker, metric) and before is not None:
            now, then = life_words(renewed.life), life_words(before.life)
            said.append(f"{renewed.group} {now}" + (f" instead of {then}" if now != then else ", as before"))
    return "; ".join(said)
