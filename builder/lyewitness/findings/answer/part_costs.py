"""Whether a part that prolongs life pays: for how much of a column it must stand, and what columns cost.

In: `Evidence`, the audit's `Point`s, a `Scope`, a `Ranking`. Out: the reply to who asks what a part is worth
that some columns of a type had and others had not.

A part that makes lives r times as long saves r − 1 columns for each one used, so that one of them for each
column pays where it costs less than (r − 1) times a column. Prices are those that question and study name.
"""

from collections.abc import Sequence

from lyewitness.decline.factors import levels_within
from lyewitness.findings import because
from lyewitness.findings.answer.factor_claims import FactorVerdict, upright
from lyewitness.findings.answer.factor_replies import settled_elsewhere
from lyewitness.findings.answer.question_scope import Scope
from lyewitness.findings.answer.ranking import Ranking
from lyewitness.findings.answer.reading_questions import asked_price, read_question
from lyewitness.findings.audit.points import Point
from lyewitness.findings.evidence import Evidence
from lyewitness.study.factor_words import is_absent, is_presence
from lyewitness.study.questions import named_factors
from lyewitness.words.estimates import Estimate
from lyewitness.words.numbers import ratio_of, stated, with_unit
from lyewitness.words.phrases import CANNOT_TELL


def worth_replies(evidence: Evidence, points: Sequence[Point], scope: Scope, ranking: Ranking) -> list[str]:
    """Return from which price of a column on a part pays, or up to which price of its own.

    Nothing where the question is not what a part is worth that varied within the types.
    """
    text, study = scope.question.text, evidence.study
    if not read_question(text, study.groups).cost or scope.asked:
        return []
    within = {name for group in scope.groups for name in levels_within(study, group)}
    named = [
        name for name in named_factors(text, [factor.name for factor in study.factors]) if name in within
    ]
    levels = next((factor.levels for factor in study.factors if factor.name in named), {})
    if len(named) != 1 or not is_presence(named[0], list(levels)):
        return []
    found = _settled(evidence, points, scope, ranking, named[0])
    if found is None:
        return [f"{CANNOT_TELL} what the {named[0]} is worth: what it does to life is open"]
    bare = [column for level, own in levels.items() if is_absent(level) for column in own]
    prices = [column.price for column in study.columns if column.id in bare and column.group in scope.groups]
    return [_worth_words(evidence, named[0], found, prices, asked_price(text, study.currency))]


def _settled(
    evidence: Evidence, points: Sequence[Point], scope: Scope, ranking: Ranking, factor: str
) -> FactorVerdict | None:
    """Return what is settled of a part: of lives where that is, else of a pace."""
    own = [one for one in ranking.factors if one.effect.factor == factor and one.verdict == "changes"]
    own.sort(key=lambda one: one.by_rate)
    return next(iter(own or settled_elsewhere(evidence, points, scope, [factor])), None)


def _worth_words(
    evidence: Evidence, factor: str, found: FactorVerdict, prices: Sequence[float | None], part: float | None
) -> str:
    told = upright(found)
    times = because.turned(told.ratio) if told.by_rate else told.ratio
    longer = f"columns last {ratio_of(times)} times as long with the {factor}"
    lead = f"if lives follow that pace, {longer}" if told.by_rate else longer
    if times.value is None or times.value <= 1 or (times.low is not None and times.low <= 1):
        return f"{lead}: {CANNOT_TELL} whether it pays"
    currency = evidence.study.currency
    known = sorted({price for price in prices if price}) if prices and all(prices) else []
    low, high = (None if end is None else end - 1 for end in (times.low, times.high))
    gain = Estimate(times.value - 1, low, high)
    if part is None:
        if not known:
            return f"{lead}; whether it pays, {CANNOT_TELL}: no price of it and none of the columns is stated"
        most = _money(_times(gain, known[0]), currency)
        return f"{lead}; one for each column pays where it costs less than {most}: no price of it is stated"
    least = Estimate(part / (times.value - 1), _over(part, gain.high), _over(part, gain.low))
    pays = f"{lead}; one of {_amount(part, currency)} for each column pays where a column costs more than "
    pays += _money(least, currency)
    if not known:
        return f"{pays}, and no price of the columns is stated"
    cost = f"{stated(known[0])} to " if len(known) > 1 else ""
    cost += _amount(known[-1], currency)
    return f"{pays}: these cost {cost}, {_verdict(known, least)}"


def _verdict(known: Sequence[float], least: Estimate) -> str:
    """Return whether columns of these prices are dear enough."""
    if least.high is not None and known[0] > least.high:
        return "so it pays"
    if least.low is not None and known[-1] < least.low:
        return "so it does not"
    return f"so that {CANNOT_TELL} whether it does"


def _times(gain: Estimate, price: float) -> Estimate:
    value, low, high = (None if end is None else end * price for end in (gain.value, gain.low, gain.high))
    return Estimate(value, low, high)


def _over(price: float, gain: float | None) -> float | None:
    return price / gain if gain else None


def _amount(value: float, currency: str) -> str:
    return with_unit(stated(round(value, 2)), currency) if currency else stated(round(value, 2))


def _money(amount: Estimate, currency: str) -> str:
    """Return `290 EUR (200 to 500)`."""
    value, bracket, ends = ratio_of(amount).partition(" (")
    return f"{with_unit(value, currency) if currency else value}{bracket}{ends}"
