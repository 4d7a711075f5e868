"""What is expected of lives, or asked for yes or no, held against the data.

In: an `Expected`, `Evidence`, the audit's `Point`s, a `Ranking`. Out: `Judged`: how the data lean, and what
they say.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Literal

from lyewitness.decline.deciding import key_of
from lyewitness.findings import because
from lyewitness.findings.answer import order_words
from lyewitness.findings.answer.as_asked import elsewhere
from lyewitness.findings.answer.claims import pace_words
from lyewitness.findings.answer.factor_claims import (
    FactorVerdict,
    at_part,
    effect_words,
    parts_words,
)
from lyewitness.findings.answer.factor_replies import (
    settled_elsewhere,
)
from lyewitness.findings.answer.question_scope import Scope
from lyewitness.findings.answer.ranking import Pairing, Ranking, rank
from lyewitness.findings.answer.reading_questions import (
    Expected,
)
from lyewitness.findings.answer.side_by_side import Apart, told_apart, types_apart
from lyewitness.findings.answer.treatments import asks_treatment
from lyewitness.findings.answer.use_claims import (
    Held,
    answers,
    failures,
    held,
    held_words,
    span_words,
    tally,
)
from lyewitness.findings.answer.ways_of_failing import asks_ways
from lyewitness.findings.audit.points import Point, bounded
from lyewitness.findings.evidence import Evidence
from lyewitness.findings.records import Strength
from lyewitness.study.questions import named_groups
from lyewitness.words.estimates import Estimate
from lyewitness.words.lives import is_known, is_vague, lasting, tell, tell_ratio
from lyewitness.words.metrics import the_metric
from lyewitness.words.numbers import stated
from lyewitness.words.phrases import (
    CANNOT_TELL,
    columns_of,
    down,
    hours,
    listed,
    spelled,
)

Leaning = Literal[
    "borne out", "same way", "fits", "seen so", "in part", "more", "not seen", "contradicted", "against",
    "seen otherwise", "open", "unread",
]  # fmt: skip
REPLIES: Mapping[Leaning, str] = {
    "borne out": "Yes",
    "same way": "Yes, as far as these data tell",
    "in part": "In part",
    "contradicted": "No",
    "against": "No, as far as these data tell",
    "seen so": "In this test, yes",
    "seen otherwise": "Not in this test",
}
"""What the same verdicts are in answer to a question."""


@dataclass(frozen=True, slots=True)
class Judged:
    """How the data stand to what was expected or asked."""

    leaning: Leaning
    words: str
    """What the data say, a clause."""


def groups_by_factor(evidence: Evidence, ranking: Ranking) -> dict[str, list[str]]:
    """Return the groups at the levels that each factor brings, by the factor's name."""
    found: dict[str, list[str]] = {factor.name: [] for factor in evidence.study.factors}
    for verdict in ranking.factors:
        groups = (evidence.study.column(column).group for column in verdict.effect.columns)
        found[verdict.effect.factor] = list(dict.fromkeys((*found[verdict.effect.factor], *groups)))
    return found


def weigh(
    evidence: Evidence,
    points: Sequence[Point],
    scope: Scope,
    ranking: Ranking,
    expected: Expected | None,
) -> Judged:
    """Hold what was expected, or asked for yes or no, against the data."""
    if expected is None or not set(expected.groups) <= set(scope.groups):
        # What failed first, and to what the signs point, the answer has just told.
        seen = "what failed first is told above" if asks_ways(scope.question.text) else ""
        seen = seen or ("what was seen is told above" if asks_treatment(scope) else "")
        return Judged("unread", seen or _data(evidence, scope))
    if expected.span is not None:
        return (_at_most if expected.at_most else span_held)(evidence, points, scope, expected)
    if expected.ratio == 1 and (judged := _no_effect(evidence, points, scope, ranking, expected)):
        return judged
    if expected.ratio is not None:
        return _by_ratio(evidence, points, scope, ranking, expected, expected.ratio)
    return _by_ranking(evidence, points, scope, ranking, expected)


def _data(evidence: Evidence, scope: Scope) -> str:
    named = [g for g in named_groups(scope.question.expectation, evidence.study.groups) if g in scope.groups]
    lives = [
        (g, life)
        for g in named or scope.groups
        if (life := evidence.group_life(g, *scope.deciding)) is not None
    ]
    said = listed(
        f"{columns_of(group, len(life.columns))} "
        + (lasting(life.life) if is_known(life.life) else f"({tell(life.life)})")
        for group, life in lives
    )
    if not said:
        return f"{CANNOT_TELL} how long any group lasts"
    others = []
    for group, _ in lives:
        if failed := scope.failed_sooner(evidence, group):
            which, when = failures(group, scope.usable_lives(evidence, group, every_limit=True), failed)
            others.append(f"{which} failed by another limit ({when})")
    if not others:
        return said
    # One limit alone does not tell how long a column was of use.
    return f"by {the_metric(*scope.deciding)} alone, {said}; {'; '.join(others)}"


def span_held(
    evidence: Evidence, points: Sequence[Point], scope: Scope, expected: Expected, of_each: bool = False
) -> Judged:
    """Hold 'lasts so many hours' against the lives of the columns; of several types, of each."""
    if len(expected.groups) > 1:
        return _all_held(evidence, points, scope, expected)
    group = expected.groups[0]
    found = held(evidence, scope, group, expected.span) if expected.span is not None else None
    if found is None:
        return Judged("open", f"the lives of {columns_of(group)} are not known")
    words = _expected_and_seen(evidence, scope, group, found, of_each)
    other = elsewhere(evidence, scope)
    if other is not None and answers(found):
        words = f"{words}, {other.than_asked}"
        if not other.tells(found):
            # What failed under harder conditions may hold under milder ones; what held under milder ones is
            # no proof of harder ones.
            return Judged("against" if answers(found) == "No" else "open", words)
    if found.verdict == "contradicted" or (expected.every and found.failed):
        firm = bounded("shown", points, (group,)) == "shown"
        return Judged("contradicted" if firm else "against", words)
    return Judged(_leaning_of(bounded(found.verdict, points, (group,))), words)


def _all_held(evidence: Evidence, points: Sequence[Point], scope: Scope, expected: Expected) -> Judged:
    """Hold 'every type lasts so many hours' against each: it is so where it is so of all."""
    each = [
        span_held(evidence, points, scope, replace(expected, groups=(group,), every=True), of_each=True)
        for group in expected.groups
    ]
    for leaning in HARDEST_FIRST:
        own = [one for one in each if one.leaning == leaning]
        if own:
            said = dict.fromkeys(one.words.partition("; ")[2] or one.words for one in own)
            span = span_words(expected.span) if expected.span is not None else ""
            return Judged(leaning, f"you expected at least {span}; {'; '.join(said)}")
    return each[0]


HARDEST_FIRST: tuple[Leaning, ...] = ("contradicted", "against", "open", "same way", "borne out")
"""Of what is expected of every type, the verdict on the one that speaks most against it."""


def _leaning_of(strength: Strength) -> Leaning:
    return {"shown": "borne out", "indicated": "same way"}.get(strength, "open")  # type: ignore[return-value]


def _expected_and_seen(
    evidence: Evidence, scope: Scope, group: str, found: Held, of_each: bool = False
) -> str:
    """Return `you expected two days (48 h); the silica columns lasted 25 h (24 to 27)`."""
    if found.failed and (found.every_limit or of_each):
        # The life by the deciding limit may be long where another was passed; of every column one is enough.
        return f"you expected at least {span_words(found.span)}; {held_words(found)}"
    life = evidence.group_life(group, *scope.deciding)
    seen = lasting(life.life) if life is not None else CANNOT_TELL
    failed = (
        f"; of {spelled(len(found.lives))} tested, {tally(found)}"
        if life is not None and max(found.failed, found.surely) < len(found.lives) > 1
        else ""
    )
    alone = ", a single column, which says nothing of the next" if len(found.lives) == 1 else ""
    return f"you expected at least {span_words(found.span)}; {columns_of(group)} {seen}{alone}{failed}"


def _at_most(evidence: Evidence, points: Sequence[Point], scope: Scope, expected: Expected) -> Judged:
    """Hold 'lasts so many hours at most' against the life of the group."""
    group = expected.groups[0]
    life = evidence.group_life(group, *scope.deciding)
    if life is None or expected.span is None:
        return Judged("open", f"the lives of {columns_of(group)} are not known")
    words = f"you expected at most {span_words(expected.span)}; {columns_of(group)} {lasting(life.life)}"
    low, high = life.life.hours.low, life.life.hours.high
    within = high is not None and high <= expected.span.hours
    beyond = low is not None and low > expected.span.hours
    span = expected.span.hours
    if beyond and (unknown := [one for one in scope.less_known(evidence, group) if one.low <= span]):
        # One limit alone does not tell how long a column was of use.
        beyond = False
        metric = the_metric(*key_of(unknown[0].decline))
        words += f" by the metric that decides, but by {metric} nothing sure is known of "
        words += listed(f"{one.column} beyond {hours(down(one.low))}" for one in unknown)
    return held_against(within, beyond, bounded("shown", points, (group,)), words)


def held_against(within: bool, beyond: bool, allowed: Strength, words: str) -> Judged:
    """Return the verdict where an interval lies within what was expected, beyond it, or neither."""
    if beyond and allowed != "not settled":
        return Judged("contradicted" if allowed == "shown" else "against", words)
    return Judged(_leaning_of(allowed) if within else "open", words)


RATIO = "÷"
"""Where the ratio stands in a sentence that does not end with it."""


def _by_ratio(
    evidence: Evidence,
    points: Sequence[Point],
    scope: Scope,
    ranking: Ranking,
    expected: Expected,
    wanted: float,
) -> Judged:
    """Hold an expected ratio of lives, or of rates, against the interval of the ratio.

    It is borne out where the whole interval lies within the margin of equivalence around it, or beyond it in
    the direction that was expected; contradicted where the interval does not hold it. Where a factor surely
    does otherwise at one level of another than at the next, each level is judged by itself.
    """
    ratio, allowed, subject = _ratio_seen(points, scope, evidence, ranking, expected)
    what = "rates" if expected.of_rates else "lives"
    if ratio is None or not tell_ratio(ratio):
        return Judged("open", f"the ratio of these {what} is not known")
    if is_vague(ratio):
        return Judged("open", f"the ratio of these {what} is {tell_ratio(ratio)}")
    number = stated(float(f"{wanted:.3g}"))
    where = f"where {number} was expected" if wanted != 1 else "where no effect was expected"
    own = next(iter(of_factor(ranking, expected)), None)
    if own is not None and (parted := _parted(own, wanted)) and allowed != "not settled":
        return Judged("in part", f"{subject} {parted}, {where}; {tell_ratio(ratio)} on the whole")
    told = subject.replace(RATIO, tell_ratio(ratio)) if RATIO in subject else f"{subject} {tell_ratio(ratio)}"
    words = f"{told}, {where}{parts_words(own) if own is not None else ''}"
    margin = 1 + evidence.study.choices.equivalence_margin_percent / 100
    low, high = ratio.low, ratio.high
    more = _more(ratio, wanted)
    beyond = not _holds(ratio, wanted)
    near = low is not None and high is not None and wanted / margin <= low and high <= wanted * margin
    judged = held_against((near and not beyond) or more, beyond and not more, allowed, words)
    # That a factor helps, and how much may be as expected, is more than nothing.
    fits = judged.leaning == "open" and allowed != "not settled" and not beyond and own is not None
    apart = (low is not None and low > 1) if wanted > 1 else (high is not None and high < 1)
    return Judged("fits", words) if fits and apart and own and own.verdict == "changes" else judged


def _no_effect(
    evidence: Evidence, points: Sequence[Point], scope: Scope, ranking: Ranking, expected: Expected
) -> Judged | None:
    """Hold `it does nothing` against what another metric settles, where the deciding one leaves it open.

    What the answer says that a part does contradicts that it does nothing.
    """
    if not expected.of_rates or any(one.verdict != "open" for one in of_factor(ranking, expected)):
        return None
    found = settled_elsewhere(evidence, points, scope, [expected.factor])
    changes = [one for one in found if one.verdict == "changes"]
    if not changes:
        return None
    return Judged("contradicted" if changes[0].strength == "shown" else "against", effect_words(changes[0]))


def _more(ratio: Estimate, wanted: float) -> bool:
    """Return whether the whole interval lies beyond what was expected, in the direction expected."""
    if wanted == 1:
        return False
    if wanted > 1:
        return ratio.low is not None and ratio.low > wanted
    return ratio.high is not None and ratio.high < wanted


def _holds(ratio: Estimate, wanted: float) -> bool:
    """Return whether the interval leaves room for what was expected."""
    return (ratio.low is None or ratio.low <= wanted) and (ratio.high is None or wanted <= ratio.high)


def _parted(verdict: FactorVerdict, wanted: float) -> str:
    """Return `2.0 (1.8 to 2.2) on C18, and not on phenyl, by 1.27 (1.18 to 1.37)`, where levels differ so.

    Nothing where the effect does not surely differ, or the expectation holds at all levels or at none.
    """
    differs = any(verdict.same(one) == "differs" for one in verdict.interactions)
    told = [(part, tell_ratio(verdict.told_of(part))) for part in verdict.parts]
    others = {part.other for part, _ in told}
    if not differs or len(others) != 1 or not all(words for _, words in told):
        return ""
    meets = [_holds(verdict.told_of(p), wanted) or _more(verdict.told_of(p), wanted) for p, _ in told]
    if all(meets) or not any(meets):
        return ""
    as_expected, otherwise = (
        listed(
            f"{words} {at_part(verdict, part)}"
            for (part, words), met in zip(told, meets, strict=True)
            if met == way
        )
        for way in (True, False)
    )
    return f"{as_expected}, but by {otherwise}"


def of_factor(ranking: Ranking, expected: Expected) -> list[FactorVerdict]:
    """Return what is said of the factor that the expectation is about, of lives or of rates as it has it."""
    return [
        verdict
        for verdict in ranking.factors
        if expected.factor
        and verdict.effect.factor == expected.factor
        and verdict.by_rate == expected.of_rates
    ]


def _ratio_seen(
    points: Sequence[Point], scope: Scope, evidence: Evidence, ranking: Ranking, expected: Expected
) -> tuple[Estimate | None, Strength, str]:
    """Return the ratio that the expectation is about, how strong a claim may be, and words."""
    for verdict in of_factor(ranking, expected):
        open_because_of_audit = any(point.bound == "not settled" for point in verdict.points)
        weak = any(point.bound == "indicated" for point in verdict.points) or verdict.effect.additive
        allowed: Strength = "not settled" if open_because_of_audit else "indicated" if weak else "shown"
        what = "life"
        if expected.of_rates:
            what = f"the pace at which {the_metric(*scope.deciding)} declines"
        does = {"shown": f"multiplies {what} by", "indicated": f"seems to multiply {what} by"}
        doing = does.get(verdict.strength, f"may change {what}: the ratio is")
        return verdict.ratio, allowed, f"the {expected.factor} {doing}"
    if expected.factor:
        return None, "not settled", ""
    first, second = expected.groups
    found = evidence.comparison(first, second, *scope.deciding)
    if found is None:
        return None, "not settled", ""
    ratio = found.life_ratio if found.group_a == first else because.turned(found.life_ratio)
    alone = min(found.columns_a, found.columns_b) < 2
    allowed = "not settled" if alone else bounded("shown", points, (first, second))
    return ratio, allowed, f"{columns_of(first)} last {RATIO} times as long as {columns_of(second)}"


def _by_ranking(
    evidence: Evidence, points: Sequence[Point], scope: Scope, ranking: Ranking, expected: Expected
) -> Judged:
    """Hold an order of groups against the pairings it is about.

    Where the metric that decides leaves a pair open, by whichever limit is passed first; where nothing
    settles it, by what every column showed.
    """
    pairings = [pairing for pairing in ranking.of_use.pairings if is_about(pairing, expected)]
    earlier, by_any = expected.kind == "shortest", ranking.by_any
    if not pairings and len(ranking.groups) == 1 < len(evidence.study.groups):
        # One type is asked about, and said to be the first or the last of all.
        wide = replace(scope, groups=evidence.study.groups)
        return _by_ranking(evidence, points, wide, rank(evidence, points, wide), expected)
    if not pairings:
        alone = (
            "only one group is asked about" if len(ranking.groups) == 1 else "these groups were not compared"
        )
        return Judged("open", alone)
    against = [pairing for pairing in pairings if _speaks_against(pairing, expected)]
    surely = [pairing for pairing in against if _sure(pairing)]
    if surely:
        return Judged("contradicted", _told(scope, surely, by_any, earlier))
    if against:
        return Judged("against", f"{_told(scope, against, by_any, earlier)}, which is indicated only")
    undecided = [pairing for pairing in pairings if pairing.verdict == "open" and not pairing.slower]
    if undecided:
        seen = _as_seen(evidence, scope, undecided, expected)
        return seen or Judged("open", f"it is not settled between {_named(undecided)}")
    return Judged(
        "borne out" if all(map(_sure, pairings)) else "same way", _told(scope, pairings, by_any, earlier)
    )


def _as_seen(
    evidence: Evidence, scope: Scope, pairings: Sequence[Pairing], expected: Expected
) -> Judged | None:
    """Hold an order against types whose columns were all apart, where nothing is settled; None where some
    overlap."""
    found = [types_apart(evidence, scope, one.first, one.second) for one in pairings]
    apart = [one for one in found if one is not None]
    ordered = [Pairing(one.longer, one.shorter, "longer", "not settled", None, (), ()) for one in apart]
    against = [x for x, order in zip(apart, ordered, strict=True) if _speaks_against(order, expected)]
    if against:
        return Judged("seen otherwise", told_apart(against))
    if len(apart) < len(found):
        left = [one for one, pair in zip(pairings, found, strict=True) if pair is None]
        return _in_many(apart, left, expected)
    return Judged("seen so", told_apart(apart))


def _in_many(apart: Sequence[Apart], left: Sequence[Pairing], expected: Expected) -> Judged | None:
    """Return against how many types it was so in this test that one outlasts all, and of which it is open."""
    (group, *more) = expected.groups
    if expected.kind != "longest" or more or not apart:
        return None
    others = listed(columns_of(one.shorter) for one in apart)
    rest = listed((columns_of(next(iter(one.groups - {group}))) for one in left), "or")
    so = f"in this test {columns_of(group)} outlasted {others}"
    return Judged("open", f"{so}; whether they outlast {rest} is not settled")


def _named(pairings: Sequence[Pairing]) -> str:
    """Return the pairs by their groups, or how many they are."""
    if len(pairings) > MOST_NAMED:
        return f"{spelled(len(pairings))} pairs of groups"
    return ", nor between ".join(" and ".join(sorted(pairing.groups)) for pairing in pairings)


MOST_NAMED = 3
"""Pairs that a sentence names; the claims name all."""


def _sure(pairing: Pairing) -> bool:
    """Return whether the order of two groups, by their lives or else by their rates, is shown."""
    return (pairing.pace if pairing.slower else pairing.strength) == "shown"


def is_about(pairing: Pairing, expected: Expected) -> bool:
    """Return whether a pairing can speak for or against the expectation."""
    if expected.kind in ("longest", "shortest"):
        return expected.groups[0] in pairing.groups
    return pairing.groups <= set(expected.groups)


def _speaks_against(pairing: Pairing, expected: Expected) -> bool:
    """Return whether a settled pairing says otherwise than was expected."""
    if pairing.verdict == "open" and not pairing.slower:
        return False
    if expected.kind == "alike":
        return pairing.verdict != "alike"
    if pairing.verdict == "alike":
        return expected.kind != "not shorter"
    longer = pairing.slower or pairing.first
    (shorter,) = pairing.groups - {longer}
    singled_out = shorter if expected.kind == "shortest" else longer
    return singled_out != expected.groups[0]


def _told(
    scope: Scope,
    pairings: Sequence[Pairing],
    by_any: Sequence[Pairing],
    earlier: bool = False,
    shown: bool = True,
) -> str:
    """Return the order of each pair, with what is known by whichever limit is passed first as such."""
    own = [pairing for pairing in pairings if pairing not in by_any]
    used = [pairing for pairing in pairings if pairing in by_any]
    said = [_orders(scope, own, earlier, shown)] if own else []
    if used:
        said.append(f"{order_words.BY_ANY}, {_orders(scope, used, earlier, shown)}")
    return "; ".join(said)


def _orders(scope: Scope, pairings: Sequence[Pairing], earlier: bool = False, shown: bool = True) -> str:
    """Return the order of each pair, those of one longer-lived group together; `earlier`: as the question has
    it, where it is after a metric."""
    longer: dict[str, list[str]] = {}
    for one in pairings:
        if one.verdict == "longer" and not one.slower:
            longer.setdefault(one.first, []).append(one.second)
    said = []
    for p in pairings:
        if p.slower:
            said.append(pace_words(p))
        elif p.verdict == "longer" and scope.named and earlier:
            said.append(order_words.earlier(scope, p.second, p.first, shown))
        elif p.verdict == "longer":
            said.append(order_words.longer(scope, p.first, longer[p.first], shown))
        else:
            said.append(order_words.alike(scope, f"{columns_of(p.first)} and {columns_of(p.second)}"))
    return listed(dict.fromkeys(said))
