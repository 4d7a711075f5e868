"""Would the answer change if what was left out were counted in, or what is doubtful left out?

In: `Evidence`; what such injections touch is judged again with them, or without. Out: `Point`s.
"""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache

from lyewitness.decline.first_limits import ANY
from lyewitness.decline.judging import compare_groups, judge, limited_by_group
from lyewitness.decline.records import Comparison, Judgement
from lyewitness.findings.audit.injections import is_blank
from lyewitness.findings.audit.points import Asked, Pair, Point, groups_of, pairs_with, subject_of
from lyewitness.findings.audit.results import longer_lived
from lyewitness.findings.evidence import Evidence
from lyewitness.findings.medium.retention_by_ph import amended
from lyewitness.peaks.records import Measurements
from lyewitness.study.records import Study
from lyewitness.study.setpoints import departures
from lyewitness.words.lives import tell, tell_ratio
from lyewitness.words.metrics import metric_of_marker
from lyewitness.words.numbers import p_value
from lyewitness.words.phrases import counted, listed, share_of

WITH_ALL = Asked(
    "left-out-counted-in",
    "Does the answer change with the left-out injections in?",
    "An answer that hangs on what was left out is only as good as the reasons for leaving it out.",
    "Repeat these injections, or show from outside the chromatogram that they failed.",
)


def with_all(evidence: Evidence) -> Iterator[Point]:
    """Ask whether a pair is settled otherwise with every left-out injection used; blanks stay out.

    So does what looks wrong by itself, as its neighbours show: a wrong vial counted in blurs any answer.
    """
    left_out = [i for i in evidence.study.injections if not i.used and not is_blank(i)]
    out = [i for i in left_out if i.id not in evidence.borne_out]
    if not left_out or not evidence.judgement.deciding[1]:
        return
    if not out:
        which = share_of(len(left_out), len(left_out), "left-out injection")
        look = "looks" if len(left_out) == 1 else "look"
        yield WITH_ALL.good(f"{which} {look} wrong beside the neighbours, whatever the answer")
        return
    again = judged_with_all(evidence)
    detail = f"with {counted(len(out), 'injection')} counted in"
    yield from _asked_again(evidence, WITH_ALL, again, [injection.column for injection in out], detail)


WITHOUT_DOUBTFUL = Asked(
    "doubtful-left-out",
    "Does the answer change without the doubtful injections?",
    "A life that rests on an injection which should not count is not the column’s.",
    "Decide on each doubtful injection: leave it out with its reason, or say in a note why it counts.",
)


def without_doubtful(evidence: Evidence) -> Iterator[Point]:
    """Ask whether a pair is settled otherwise without the injections that differ from their neighbours."""
    if evidence.without_doubtful is None or not evidence.judgement.deciding[1]:
        return
    names = {one.injection for one in evidence.doubtful}
    columns = [injection.column for injection in evidence.study.injections if injection.id in names]
    detail = f"without {counted(len(names), 'doubtful injection')}"
    yield from _asked_again(evidence, WITHOUT_DOUBTFUL, evidence.without_doubtful, columns, detail)


WITHOUT_UNPLANNED = Asked(
    "unplanned-left-out",
    "Does the answer change without columns off plan?",
    "What such a column shows belongs to the stress that it saw, not to the one that was planned.",
    "State the stress that it saw in its [[column]]; repeat it under the stress of the others.",
)


def with_unplanned_apart(evidence: Evidence) -> Evidence:
    """Return the evidence with its columns off plan named, and the comparisons without them.

    A group that would lose all its columns keeps them: nothing could be compared without it.
    """
    study = evidence.study
    held = [column for column in study.columns if column.id not in evidence.left_out]
    off = {one.column for one in departures(study.stress, held, study.conditions)}
    kept = {column.group for column in held if column.id not in off}
    out = tuple(column.id for column in held if column.id in off and column.group in kept)
    if not out:
        return evidence
    judged = evidence.judgement
    declines = tuple(one for one in judged.declines if one.series.column not in out)
    comparisons = compare_groups(study, limited_by_group(study, declines))
    without = replace(judged, declines=declines, comparisons=comparisons)
    return replace(evidence, unplanned=out, without_unplanned=without)


def hanging_on_unplanned(evidence: Evidence, deciding: tuple[str, str]) -> list[Comparison]:
    """Return the comparisons by one metric that are settled with the columns off plan alone."""
    if evidence.without_unplanned is None:
        return []
    again = {_key(one): _settled(one) for one in evidence.without_unplanned.comparisons}
    return [
        one
        for one in evidence.judgement.comparisons
        if (one.marker, one.metric) == deciding
        and _settled(one)
        and again.get(_key(one), "") != _settled(one)
    ]


def without_unplanned(evidence: Evidence) -> Iterator[Point]:
    """Ask whether a pair is settled otherwise without the columns that ran off their plan."""
    if evidence.without_unplanned is None or not evidence.judgement.deciding[1]:
        return
    by_any = any((one.marker, one.metric) == ANY for one in evidence.judgement.comparisons)
    deciding = ANY if by_any else evidence.judgement.deciding
    asked = replace(evidence, judgement=replace(evidence.judgement, deciding=deciding))
    pairs = [frozenset((c.group_a, c.group_b)) for c in hanging_on_unplanned(evidence, deciding)]
    subject = subject_of(evidence, evidence.unplanned)
    lead = f"without {listed(evidence.unplanned)}"
    if pairs:
        told = _pairs_words(asked, evidence.without_unplanned, pairs)
        yield WITHOUT_UNPLANNED.says(
            "problem", f"{lead} the answer would be another: {told}", subject, bound="indicated", pairs=pairs
        )
    else:
        yield WITHOUT_UNPLANNED.good(f"what is settled is settled {lead}, too", subject)


def _asked_again(
    evidence: Evidence, asked: Asked, again: Judgement, columns: Sequence[str], lead: str
) -> Iterator[Point]:
    """Return what another judgement of the same study does to the answer."""
    turned, weakened = _changed(evidence, again)
    lives = _lives_words(evidence, again)
    metric = metric_of_marker(*evidence.judgement.deciding)
    detail = f"{lead}, by the {metric}: {lives}"
    if turned:
        yield asked.says(
            "problem",
            f"the answer turns round: {lead}, {_pairs_words(evidence, again, turned)}; {metric}, {lives}",
            subject_of(evidence, columns),
            bound="not settled", pairs=turned, groups=groups_of(evidence, columns),
        )  # fmt: skip
    elif weakened:
        yield asked.says(
            "problem",
            f"{lead}, {_pairs_words(evidence, again, weakened)}; {metric}, {lives}",
            subject_of(evidence, columns), bound="indicated", pairs=weakened,
        )  # fmt: skip
    else:
        point = asked.good(f"the answer is the same: {detail}", subject_of(evidence, columns))
        yield replace(point, pairs=pairs_with(evidence.study, groups_of(evidence, columns)))


def judged_with_all(evidence: Evidence) -> Judgement:
    """Return the judgement with every injection used but the blanks, and what looks wrong by itself."""
    unused = (i for i in evidence.study.injections if not i.used and not is_blank(i))
    out = [i.id for i in unused if i.id not in evidence.borne_out]
    return _judged_anew(evidence, dict.fromkeys(out, True))


def judged_without(evidence: Evidence, names: Iterable[str]) -> Judgement:
    """Return the judgement without these injections."""
    return _judged_anew(evidence, dict.fromkeys(names, False))


def _judged_anew(evidence: Evidence, used: Mapping[str, bool]) -> Judgement:
    """Return the judgement with these injections used, or not.

    All columns are judged anew: what is counted on one tells the others, too, what the noise is like.
    """
    again = _judged(_Itself(evidence.study), evidence.measurements, tuple(used.items()))
    return replace(again, deciding=evidence.judgement.deciding)


@dataclass(frozen=True, eq=False, slots=True)
class _Itself:
    """A study as a key: another one is not it, however alike."""

    study: Study

    def __hash__(self) -> int:
        return id(self.study)

    def __eq__(self, other: object) -> bool:
        return isinstance(other, _Itself) and other.study is self.study


@lru_cache(maxsize=4)
def _judged(itself: _Itself, measurements: Measurements, used: tuple[tuple[str, bool], ...]) -> Judgement:
    """Return the judgement of what is counted otherwise; kept, as each question asks for the same."""
    study, rows = counted_otherwise(itself.study, measurements, dict(used))
    return judge(study, rows, amend=amended(study, rows))


def counted_otherwise(
    study: Study, measurements: Measurements, used: Mapping[str, bool]
) -> tuple[Study, Measurements]:
    """Return study and measurements with these injections used, or not."""
    injections = tuple(replace(i, used=used.get(i.id, i.used)) for i in study.injections)
    rows = tuple(replace(row, used=used.get(row.injection, row.used)) for row in measurements.rows)
    return replace(study, injections=injections), replace(measurements, rows=rows)


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
        if _settled(before) != _settled(after):
            both = longer_lived(before) and longer_lived(after)
            (turned if both else weakened).append(pair)
    return turned, weakened


def _pairs_words(evidence: Evidence, again: Judgement, pairs: Sequence[Pair]) -> str:
    """Return what is found of each pair in the other judgement, and what is answered: with the numbers."""
    said = []
    for pair in pairs:
        first, second = sorted(pair)
        before, after = (
            next(
                (
                    one
                    for one in judged.comparisons
                    if {one.group_a, one.group_b} == pair
                    and (one.marker, one.metric) == evidence.judgement.deciding
                ),
                None,
            )
            for judged in (evidence.judgement, again)
        )
        said.append(f"{first} against {second}: {_found_words(after)} instead of {_found_words(before)}")
    return "; ".join(said)


def _found_words(comparison: Comparison | None) -> str:
    """Return `Alpha lasts longer (life of Alpha ÷ Beta 2.1 (1.4 to 3.0), p = 0.01)`."""
    if comparison is None:
        return "not settled"
    longer = longer_lived(comparison)
    alike = comparison.finding == "no meaningful difference"
    found = f"{longer} lasts longer" if longer else "alike" if alike else "not settled"
    told = tell_ratio(comparison.life_ratio)
    numbers = [f"life of {comparison.group_a} ÷ {comparison.group_b} {told}"] if told else []
    if comparison.p_adjusted is not None:
        numbers.append(p_value(comparison.p_adjusted))
    return f"{found} ({', '.join(numbers)})" if numbers else found


def _settled(comparison: Comparison) -> str:
    """Return the longer-lived group, `alike`, or nothing where the pair is not settled."""
    return longer_lived(comparison) or ("alike" if comparison.finding == "no meaningful difference" else "")


def _key(comparison: Comparison) -> tuple[str, str, str, str]:
    return comparison.group_a, comparison.group_b, comparison.marker, comparison.metric


def _lives_words(evidence: Evidence, again: Judgement) -> str:
    """Return the lives of the groups with all counted in, and as they are answered."""
    marker, metric = evidence.judgement.deciding
    said = []
    for renewed in again.group_lives:
        before = evidence.group_life(renewed.group, marker, metric)
        if (renewed.marker, renewed.metric) == (marker, metric) and before is not None:
            now, then = tell(renewed.life), tell(before.life)
            said.append(f"{renewed.group} {now}" + (f" instead of {then}" if now != then else ", as before"))
    return "; ".join(said)
