"""What a factor of the design does to life, and whether it does so alike everywhere.

In: `Evidence`, the audit's `Point`s, a `Scope`. Out: `FactorVerdict`s and `Claim`s, by the rules of
rankings.
"""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import combinations
from math import exp, log
from statistics import fmean

from lyewitness.decline.factors import designs_of
from lyewitness.decline.records import FactorEffect, Interaction, SameEffect
from lyewitness.findings import because
from lyewitness.findings.answer.question_scope import Scope
from lyewitness.findings.answer.reading_questions import read_question
from lyewitness.findings.audit.points import Pair, Point, weaker
from lyewitness.findings.evidence import Evidence
from lyewitness.findings.records import Because, Claim, Strength
from lyewitness.study.factor_words import at_all, at_level, is_absent, is_presence, is_sampled
from lyewitness.study.questions import named_factors
from lyewitness.words.estimates import Estimate
from lyewitness.words.lives import tell_ratio
from lyewitness.words.metrics import ANY_LIMIT, the_metric
from lyewitness.words.numbers import p_value, ratio_of, rounded
from lyewitness.words.phrases import (
    CANNOT_TELL,
    listed,
    mid_sentence,
    opening,
    run_together,
    sentence,
    spelled,
)

OWN = "the question"
"""The one that is read."""


@dataclass(frozen=True, slots=True)
class FactorVerdict:
    """What can be said of one level of a factor against another."""

    effect: FactorEffect
    parts: tuple[FactorEffect, ...]
    """The same at each level of the other factors."""
    interactions: tuple[Interaction, ...]
    by_rate: bool
    """Whether it speaks of rates of decline, because lives tell nothing of it."""
    verdict: str
    """`changes`, `alike` or `open`."""
    strength: Strength
    why: tuple[str, ...]
    points: tuple[Point, ...]
    seen: tuple[tuple[str, float], ...] = ()
    """(level of another factor, ratio of the lives seen there), where too few columns tell what both do
    together; the effect has its sense, and of rates there is none."""
    whose: str = OWN
    """Which question asks for the effect, in whose tests its p value is corrected."""

    @property
    def ratio(self) -> Estimate:
        """Return the ratio that it speaks of."""
        return self.told_of(self.effect)

    def told_of(self, effect: FactorEffect) -> Estimate:
        """Return the ratio, of lives or of rates, of the effect or of one of its parts."""
        return effect.rate_ratio if self.by_rate else effect.ratio

    def same(self, interaction: Interaction) -> SameEffect:
        """Return whether the effect on lives, or on rates, is the same at both levels of another factor."""
        return interaction.rate_finding if self.by_rate else interaction.finding

    @property
    def kind(self) -> str:
        """Return the kind of its claim: a pace told beside an open life has its own."""
        return "factor" if not self.by_rate or self.effect.p_value is None else "pace"


def factor_verdicts(evidence: Evidence, points: Sequence[Point], scope: Scope) -> tuple[FactorVerdict, ...]:
    """Return what the deciding metric says of each level of each factor within the scope."""
    judged = evidence.judgement
    inside = {column.id for group in scope.groups for column in evidence.study.replicates(group)}
    own = [
        e
        for e in judged.factor_effects
        if (e.marker, e.metric) == scope.deciding and {*e.columns, *e.columns_against} <= inside
    ]
    asked = f"{scope.question.text} {scope.question.expectation}"
    of_rates = read_question(asked, evidence.study.groups).rate
    named = named_factors(asked, [factor.name for factor in evidence.study.factors])
    found = []
    for effect in own:
        if effect.other:
            continue
        key = (effect.factor, effect.level)
        parts = tuple(e for e in own if e.other and (e.factor, e.level) == key)
        interactions = tuple(
            one
            for one in judged.interactions
            if (one.marker, one.metric) == scope.deciding and (one.factor, one.level) == key
        )
        # What both do together is told with each; where it is open, only with one that is asked about.
        interactions += tuple(
            turned
            for one in judged.interactions
            if (one.marker, one.metric) == scope.deciding and (one.other, one.at) == key
            for turned in [_seen_from_the_other(one)]
            if effect.factor in named or {one.finding, one.rate_finding} != {"cannot tell"}
        )
        # Whether lots do alike is told where they do not, or where it is asked.
        interactions = tuple(one for one in interactions if not _is_idle(one, named))
        by_rate = effect.p_value is None and effect.metric != ANY_LIMIT
        verdict = _verdict(evidence, points, effect, parts, interactions, by_rate, of_rates)
        other = next((one for one in scope.beside if one.id == effect.asked_by), None)
        whose = f"the question ‘{opening(other.text)}’" if other is not None else OWN
        verdict = replace(verdict, seen=tuple(_seen_at(evidence, effect, interactions)), whose=whose)
        if by_rate or effect.metric == ANY_LIMIT:
            # Several metrics have no pace in common.
            found.append(verdict)
            continue
        pace = _verdict(evidence, points, effect, parts, interactions, True, of_rates)
        # Who asks for a rate hears of it first. A few failures may leave a life open that a pace does not.
        if of_rates:
            found += [pace, verdict]
        else:
            found += [verdict, pace] if (verdict.verdict, pace.verdict) == ("open", "changes") else [verdict]
    return tuple(found)


def _is_idle(one: Interaction, named: Iterable[str]) -> bool:
    by_lot = is_sampled(one.other) or is_sampled(one.factor)
    asked = {one.factor, one.other} & {name for name in named if is_sampled(name)}
    return by_lot and not asked and one.finding == one.rate_finding == "cannot tell"


def _seen_at(
    evidence: Evidence, effect: FactorEffect, interactions: Sequence[Interaction]
) -> Iterator[tuple[str, float]]:
    """Yield (level, ratio) at each level of the one other factor, where every column there has a life."""
    others = {one.other: (one.than, one.at) for one in interactions if one.factor == effect.factor}
    if not effect.additive or len(others) != 1 or effect.p_value is None:
        return
    ((name, levels),) = others.items()
    varied = next((v for design in designs_of(evidence.study) for v in design if v.name == name), None)
    for level in levels if varied is not None else ():
        logs = [
            [
                log(decline.life.hours.value) if decline is not None and decline.life.hours.value else None
                for column in columns
                if varied is not None and varied.of.get(column) == level
                for decline in [evidence.decline(column, effect.marker, effect.metric)]
            ]
            for columns in (effect.columns, effect.columns_against)
        ]
        known = [[one for one in own if one is not None] for own in logs]
        if all(own and len(own) == len(all_of) for own, all_of in zip(known, logs, strict=True)):
            yield level, exp(fmean(known[0]) - fmean(known[1]))


def _seen_from_the_other(one: Interaction) -> Interaction:
    """Return an interaction, of the same ratio, as what the other factor does at the levels of the first."""
    return replace(
        one, factor=one.other, level=one.at, against=one.than,
        other=one.factor, at=one.level, than=one.against,
    )  # fmt: skip


def _verdict(
    evidence: Evidence,
    points: Sequence[Point],
    effect: FactorEffect,
    parts: tuple[FactorEffect, ...],
    interactions: tuple[Interaction, ...],
    by_rate: bool,
    of_rates: bool,
) -> FactorVerdict:
    """Judge one effect; `of_rates`: rates themselves are asked for, and not as a sign of lives."""
    choices = evidence.study.choices
    ratio, p = (effect.rate_ratio, effect.rate_p_adjusted) if by_rate else (effect.ratio, effect.p_adjusted)
    margin = 1 + choices.equivalence_margin_percent / 100
    low, high = ratio.low, ratio.high
    apart = (low is not None and low > 1) or (high is not None and high < 1)
    heavy = tuple(_bearing(evidence, points, effect))
    verdict, why = "open", list[str]()
    if low is not None and high is not None and 1 / margin <= low and high <= margin:
        verdict = "alike"
    elif apart and p is not None and p <= choices.alpha:
        verdict = "changes"
    elif apart:
        why.append("the difference does not outlive the correction for the number of comparisons")
    strength: Strength = "shown" if verdict != "open" else "not settled"
    if by_rate and not of_rates and verdict != "open":
        # Columns that decline more slowly so far may still fail first.
        strength = "indicated"
    if effect.additive and verdict != "open":
        strength = "indicated"
        why.append("single columns a cell leave no scatter but what the factors do together")
    for point in heavy:
        if point.bound != "shown" and verdict != "open":
            strength = weaker(strength, point.bound)
            why.append(mid_sentence(point.check.detail.rstrip(".")))
    if strength == "not settled":
        verdict = "open"
    if by_rate and not of_rates and verdict != "open":
        why.append("a pace over the hours run is no life")
    return FactorVerdict(effect, parts, interactions, by_rate, verdict, strength, tuple(why), heavy)


def _bearing(evidence: Evidence, points: Sequence[Point], effect: FactorEffect) -> Iterator[Point]:
    """Yield the points about pairs of groups that differ in the factor.

    How many columns stand for each group is no fault here: the columns of a level are its replicates.
    """
    pairs = told_pairs(evidence, effect)
    groups = {group for pair in pairs for group in pair}
    for point in points:
        if point.check.id.startswith("replicates"):
            continue
        if point.groups & groups or point.pairs & pairs:
            yield point


def told_pairs(evidence: Evidence, effect: FactorEffect) -> frozenset[Pair]:
    """Return the pairs of groups between which the effect of a factor speaks: none that has both levels."""
    groups = [
        dict.fromkeys(evidence.study.column(column).group for column in columns)
        for columns in (effect.columns, effect.columns_against)
    ]
    both = groups[0].keys() & groups[1].keys()
    return frozenset(frozenset((a, b)) for a in groups[0] for b in groups[1] if not both & {a, b})


def designed_pairs(evidence: Evidence, verdicts: Sequence[FactorVerdict]) -> frozenset[Pair]:
    """Return the pairs of groups of whose lives the factors tell: they need no comparison one by one."""
    groups = {g for v in verdicts if not v.by_rate for pair in told_pairs(evidence, v.effect) for g in pair}
    return frozenset(frozenset(pair) for pair in combinations(groups, 2))


def factor_claims(evidence: Evidence, scope: Scope, verdicts: Sequence[FactorVerdict]) -> Iterator[Claim]:
    """Say what each factor does, with its interaction."""
    reasons: dict[str, str] = {}
    for found in verdicts:
        effect = found.effect
        links: tuple[Because, ...] = tuple(
            because.of_decline(decline)
            for column in (*effect.columns, *effect.columns_against)
            if (decline := evidence.decline(column, *scope.deciding)) is not None
        )
        faults = because.of_points(point for point in found.points if point.bound != "shown")
        known = any(end is not None for end in (found.ratio.value, found.ratio.low, found.ratio.high))
        is_drawn = known and found.kind == "factor" and not scope.by_any
        drawn = (because.of_factors(*scope.deciding),) if is_drawn else ()
        yield Claim(
            scope.claim_id(found.kind, effect.factor, effect.level),
            run_together([effect_words(found, with_p=True), _reason_words(found, reasons)]),
            found.strength,
            (*faults, *drawn, *links),
        )


def _reason_words(found: FactorVerdict, told: dict[str, str]) -> str:
    """Return why it is no stronger; `told`: reasons that stand with a factor already, which is named."""
    if not found.why:
        return ""
    reason = listed(dict.fromkeys(found.why))
    if found.verdict == "open":
        return reason
    if reason in told:
        return f"we say ‘seems’ for the same reason as of the {told[reason]}"
    told[reason] = found.effect.factor
    return f"we say ‘seems’ for this reason: {reason}"


def effect_words(found: FactorVerdict, with_p: bool = False) -> str:
    """Return `the sacrificial column multiplies life by 1.60 (1.52 to 1.68), on both bondings alike`."""
    found = upright(found)
    effect = found.effect
    ratio = tell_ratio(found.ratio)
    subject = f"the {effect.factor}"
    named = is_presence(effect.factor, (effect.level, effect.against))
    against = "" if named else f" {effect.level} against {effect.against}"
    p = found.effect.rate_p_adjusted if found.by_rate else found.effect.p_adjusted
    numbers = f", {p_value(p)} ({_corrected_words(found)})" if with_p and p is not None else ""
    what = (
        f"the pace at which {the_metric(effect.marker, effect.metric)} declines" if found.by_rate else "life"
    )
    if found.verdict == "open":
        beside = f": the ratio is {ratio}{numbers}" if ratio else ""
        if ratio and found.why and not with_p:
            # An interval that leaves out 1 beside 'we cannot tell' wants its reason on the spot.
            beside += f", but {listed(dict.fromkeys(found.why))}"
        return f"{CANNOT_TELL} whether {subject}{against} changes {what}{beside}"
    seems = found.strength != "shown"
    if found.verdict == "alike":
        makes = "seems to make" if seems else "makes"
        return f"{subject}{against} {makes} no meaningful difference to {what}: the ratio is {ratio}{numbers}"
    if found.by_rate and not any(found.same(one) == "differs" for one in found.interactions):
        way = "slow" if found.ratio.high is not None and found.ratio.high < 1 else "speed"
        decline = f"the decline of {the_metric(effect.marker, effect.metric)}"
        rate = f"{ratio_of(found.ratio)} times its rate{''.join(_interaction_words(found))}"
        return f"{subject}{against} {f'seems to {way}' if seems else f'{way}s'} {decline} to {rate}{numbers}"
    multiplies = "seems to multiply" if seems else "multiplies"
    # An effect that is settled has an end off 1 however wide its interval is.
    inner = "".join(_interaction_words(found))
    if not named and not found.by_rate:
        levels = (effect.level, effect.against)
        one, other = (at_level(effect.factor, level, levels) for level in levels)
        is_times = f"{'seems to be' if seems else 'is'} {ratio_of(found.ratio)} times that {other}"
        # Beside `is so many times`, what stands at each level of another factor needs no `by`.
        return f"life {one} {is_times}{''.join(_interaction_words(found, ''))}{numbers}"
    return f"{subject}{against} {multiplies} {what} by {ratio_of(found.ratio)}{inner}{numbers}"


def told_p(found: FactorVerdict) -> tuple[float, str] | None:
    """Return the p value of what is settled, with what it is corrected for; None of what is open."""
    p = found.effect.rate_p_adjusted if found.by_rate else found.effect.p_adjusted
    return (p, _corrected_words(found)) if p is not None and found.verdict != "open" else None


def numbers_words(found: FactorVerdict) -> str:
    """Return `life ratio 1.62 (1.50 to 1.75), p = 0.004 (corrected for …)`; empty where there is no p."""
    told, ratio = told_p(found), tell_ratio(upright(found).ratio)
    what = "ratio of rates" if found.by_rate else "life ratio"
    return f"{what} {ratio}, {p_value(told[0])} ({told[1]})" if told and ratio else ""


def upright(found: FactorVerdict) -> FactorVerdict:
    """Return the verdict as it is told: the level of the longer life against the other.

    What is there is held against what is not, and rates stay as they are.
    """
    effect, low, high = found.effect, found.ratio.low, found.ratio.high
    if is_presence(effect.factor, (effect.level, effect.against)):
        return _turned_verdict(found) if is_absent(effect.level) else found
    below = high is not None and high < 1 and (low is None or low < 1)
    return _turned_verdict(found) if below and not found.by_rate else found


def _turned_verdict(found: FactorVerdict) -> FactorVerdict:
    seen = tuple((level, 1 / ratio) for level, ratio in found.seen)
    return replace(found, effect=_turned(found.effect), parts=tuple(map(_turned, found.parts)), seen=seen)


def _turned(effect: FactorEffect) -> FactorEffect:
    return replace(
        effect,
        level=effect.against,
        against=effect.level,
        columns=effect.columns_against,
        columns_against=effect.columns,
        ratio=because.turned(effect.ratio),
        rate_ratio=because.turned(effect.rate_ratio),
    )


def _corrected_words(found: FactorVerdict) -> str:
    """Return for how many tests a p value is corrected, and which other question asks for them."""
    effect = found.effect
    if found.kind == "pace":
        return "corrected for all effects on paces"
    many = effect.corrected_over
    if many < 2:
        return f"the one effect that {found.whose} asks for" if effect.asked else "the only effect"
    if effect.asked and found.whose == OWN:
        return f"corrected for {spelled(many)} effects"
    if effect.asked:
        return f"corrected for the {spelled(many)} effects that {found.whose} asks for"
    all_of = "both" if many == 2 else f"all {spelled(many)}"
    return f"corrected for {all_of} effects and interactions"


def times_words(found: FactorVerdict, level: str) -> str:
    """Return `0.44 (0.39 to 0.50) times as long, but not alike …`: the times at a level against the other."""
    if found.effect.level != level:
        found = _turned_verdict(found)
    return f"{ratio_of(found.ratio)} times as long{''.join(_interaction_words(found, 'after '))}"


def _interaction_words(found: FactorVerdict, lead: str = "by ") -> Iterator[str]:
    """Yield, for each other factor, whether the effect is the same at each of its levels."""
    others = dict.fromkeys(i.other for i in found.interactions)
    for other in others:
        own = [i for i in found.interactions if i.other == other]
        findings = {found.same(i) for i in own}
        levels = list(dict.fromkeys(name for i in own for name in (i.than, i.at)))
        everywhere = at_all(other, levels)
        at = listed(
            f"{ratio_of(found.told_of(part))} {at_level(other, part.at, levels)}"
            for part in found.parts
            if part.other == other
        )
        if findings == {"alike"}:
            yield f", {everywhere} alike"
        elif "differs" in findings:
            yield f", but not alike {everywhere}: {lead}{at}"
        else:
            few = listed(
                f"{rounded(ratio, 2)} {at_level(other, level, levels)}"
                for level, ratio in found.seen
                if level in levels
            )
            if few and not at:
                yield f": {few}, too few columns to tell these apart"
                continue
            beside = f": {at}" if at else ""
            yield f"; {CANNOT_TELL} whether it does so {everywhere} alike{beside}"


def at_part(found: FactorVerdict, part: FactorEffect) -> str:
    """Return `without the guard`, `on C18`: where one part of an effect stands."""
    return at_level(part.other, part.at, [p.at for p in found.parts if p.other == part.other])


def parts_words(found: FactorVerdict) -> str:
    """Return `; at least 1.2 on C18 and 1.9 (1.4 to 2.6) on phenyl`: at each level of the other factors."""
    told = [
        f"{ratio} {at_part(found, part)}"
        for part in found.parts
        if (ratio := tell_ratio(found.told_of(part)))
    ]
    return f"; {listed(told)}" if told else ""


def headline_words(verdicts: Sequence[FactorVerdict]) -> list[str]:
    """Return the settled effects as sentences, then the open ones."""
    ordered = sorted(verdicts, key=lambda found: found.verdict == "open")
    return [sentence(effect_words(found)) for found in ordered]
