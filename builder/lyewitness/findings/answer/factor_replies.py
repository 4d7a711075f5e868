"""What a question about factors of the design gets first: what each of them does, and which level is better.

In: `Evidence`, a `Scope`, a `Ranking`. Out: replies.
"""

import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace

from lyewitness.decline.deciding import key_of
from lyewitness.findings.answer import order_words
from lyewitness.findings.answer.course_replies import BETTER, WORSE
from lyewitness.findings.answer.factor_claims import (
    FactorVerdict,
    effect_words,
    factor_verdicts,
    times_words,
    upright,
)
from lyewitness.findings.answer.question_scope import Scope
from lyewitness.findings.answer.ranking import Ranking
from lyewitness.findings.answer.reading_questions import (
    COST,
    EARLIER,
    EFFECT,
    NEGATED,
    RATE,
    YES_OR_NO,
    asked_sentence,
    parts_of,
    read_expectation,
    read_question,
)
from lyewitness.findings.answer.side_by_side import seen
from lyewitness.findings.audit.points import Point
from lyewitness.findings.evidence import Evidence
from lyewitness.study.factor_words import at_level, is_presence, is_sampled, level_words
from lyewitness.study.questions import asked_metric, named_factors, named_levels, words_of
from lyewitness.words.lives import tell_ratio
from lyewitness.words.phrases import CANNOT_TELL, listed, spelled

WHICH = re.compile(r"\b(which|what|or|choose|prefer)\b", re.IGNORECASE)
"""How a part of a question sounds that wants one of several named."""
AS_FAR = ", as far as these data tell"


def factor_replies(evidence: Evidence, points: Sequence[Point], scope: Scope, ranking: Ranking) -> list[str]:
    """Return whether a factor that is named does what is asked of it, or which of its levels is better."""
    compared = _compared(evidence, scope, ranking)
    return [compared] if compared else _effects(evidence, points, scope, ranking)


def _effects(evidence: Evidence, points: Sequence[Point], scope: Scope, ranking: Ranking) -> list[str]:
    """Return what the factors do that a question names, each as its own part of the question asks."""
    text = scope.question.text
    asks = read_question(text, evidence.study.groups)
    factors = named_factors(text, [factor.name for factor in evidence.study.factors])
    wanted = {name: part for name in factors if (part := part_about(text, name))}
    found = [v for v in ranking.factors if v.effect.factor in wanted]
    if asks.rate:
        found = [verdict for verdict in found if verdict.by_rate]
        told = {verdict.effect.factor for verdict in found if verdict.verdict != "open"}
        found = (
            settled_elsewhere(evidence, points, scope, [name for name in wanted if name not in told]) + found
        )
    # What is asked first is answered first.
    found.sort(key=lambda verdict: _place(text, verdict.effect.factor))
    as_ratio = read_expectation(asked_sentence(text), scope.groups, None, dict.fromkeys(factors, ()))
    telling = {} if asks.rate else seen_of(evidence, scope, ranking, wanted)
    if as_ratio or not (found or telling):
        return []
    said = list(telling.values())
    of_rates = asks.rate or not all(v.by_rate for v in found)
    untold = [] if of_rates or telling else factors_untold(evidence, scope)
    for verdict in found:
        if verdict.verdict == "open" and untold:
            continue
        if verdict.effect.factor in telling and (verdict.verdict == "open" or verdict.by_rate):
            # Beside what every column showed, how steep the courses are promises what nobody saw.
            continue
        word = _word(verdict, wanted[verdict.effect.factor], asks.rate)
        if word and verdict.strength != "shown":
            word += AS_FAR
        words = _later_or_earlier(scope, verdict) if scope.named else effect_words(verdict)
        said.append(f"{word}: {words}" if word else words)
    return [*untold, *said]


def _later_or_earlier(scope: Scope, verdict: FactorVerdict) -> str:
    """Return at which level a named metric passes its limit earlier, where that is settled of its times."""
    if verdict.by_rate or verdict.verdict != "changes":
        return effect_words(verdict)
    effect, better = verdict.effect, better_level(verdict)
    (worse,) = (level for level in (effect.level, effect.against) if level != better)
    return comparison_words(scope, Compared(effect.factor, worse, better, False), verdict, True)


def seen_of(evidence: Evidence, scope: Scope, ranking: Ranking, factors: Iterable[str]) -> dict[str, str]:
    """Return what was seen of the lives at the levels of each factor, where nothing is settled of them."""
    settled = {v.effect.factor for v in ranking.factors if v.verdict != "open" and not v.by_rate}
    told = {name: seen(evidence, scope, name) for name in factors if name not in settled}
    return {name: words for name, words in told.items() if words}


def settled_elsewhere(
    evidence: Evidence, points: Sequence[Point], scope: Scope, factors: Sequence[str]
) -> list[FactorVerdict]:
    """Return what is settled of the pace of another metric with a limit, the surest of each factor.

    A question that names no metric is not answered by ‘we cannot tell’ where one of them tells.
    """
    if scope.named or next(asked_metric(scope.question.text, evidence.study), None) is not None:
        return []
    keys = dict.fromkeys(key_of(d) for d in evidence.judgement.declines if scope.concerns(d))
    found: dict[str, FactorVerdict] = {}
    for key in keys:
        for one in factor_verdicts(evidence, points, replace(scope, deciding=key)):
            p, name = one.effect.rate_p_adjusted, one.effect.factor
            if key == scope.deciding or not one.by_rate or one.verdict == "open" or name not in factors:
                continue
            before = found.get(name)
            if p is not None and (before is None or p < (before.effect.rate_p_adjusted or 0.0)):
                found[name] = one
    return list(found.values())


BAD = re.compile(r"\b(bad|poor|faulty|defective|worse|weaker|faster|sooner|earlier)\b", re.IGNORECASE)
"""How it sounds that a lot is blamed."""


def lot_replies(evidence: Evidence, scope: Scope, ranking: Ranking) -> list[str]:
    """Return whether columns of one lot lasted less than those of another, where a question blames a lot."""
    text = scope.question.text
    lots = [f.name for f in evidence.study.factors if is_sampled(f.name)]
    named = named_factors(text, lots) if BAD.search(text) else ()
    found = [v for v in ranking.factors if v.effect.factor in named and not v.by_rate and tell_ratio(v.ratio)]
    said = []
    for one in found:
        effect, levels = one.effect, (one.effect.level, one.effect.against)
        here, there = (at_level(effect.factor, level, levels) for level in levels)
        lasted = f"columns {here} lasted {tell_ratio(one.ratio)} times as long as those {there}"
        if one.verdict == "changes":
            word = "it seems so" if one.strength != "shown" else "yes"
            said.append(f"{word}: {lasted}")
        else:
            said.append(f"no bad {effect.factor} that these data show: {lasted}, which is not settled")
    return said


def part_about(text: str, factor: str) -> str:
    """Return the part of a question that asks what a factor does or which of its levels to take.

    `Is the guard worth having: does it help?` asks it of the guard.
    """
    meant = False
    for part in parts_of(text):
        meant = bool(named_factors(part, [factor])) or (meant and PRONOUN.search(part) is not None)
        if not meant:
            continue
        # Whether it is worth its price is asked of costs.
        other = COST.sub("", part) if COST.search(part) else text
        if YES_OR_NO.search(part) and (EFFECT.search(other) or RATE.search(other) or EARLIER.search(part)):
            return part
        if WHICH.search(part) and _wants_a_level(part, factor):
            return part
    return ""


PRONOUN = re.compile(r"\b(it|they|this|these)\b", re.IGNORECASE)


def _wants_a_level(part: str, factor: str) -> bool:
    """Return whether `which` asks for a level of the factor: `which of our two bondings`, `which bonding`."""
    own = "|".join(re.escape(word) for word in words_of(factor)[-1:])
    return re.search(rf"\bwhich\b(\s+\w+){{0,4}}?\s+{own}s?\b", part, re.IGNORECASE) is not None


def _place(text: str, factor: str) -> int:
    """Return where a factor is first spoken of."""
    places = [text.lower().find(word) for word in words_of(factor)]
    return min((place for place in places if place >= 0), default=len(text))


def _word(verdict: FactorVerdict, part: str, asks_rate: bool) -> str:
    """Return yes, no or the level that is asked for; nothing where it is open, or a pace beside lives."""
    verdict = upright(verdict)
    effect = verdict.effect
    if verdict.verdict == "open" or (verdict.by_rate and not asks_rate):
        # Whether a factor helps is asked of lives; a pace is told and answers nothing of them.
        return ""
    if not YES_OR_NO.search(part):
        better = level_words(effect.factor, better_level(verdict), (effect.level, effect.against))
        return "either" if verdict.verdict == "alike" else better
    if verdict.verdict == "alike":
        return "No"
    if not is_presence(effect.factor, (effect.level, effect.against)):
        # Of two makes neither is the one that helps: whether it matters is what is asked.
        return "Yes"
    helps = better_level(verdict) == effect.level
    return "Yes" if helps != (HASTENS.search(part) is not None) else "No"


HASTENS = re.compile(r"\b(speeds?|accelerates?|hastens?)\b", re.IGNORECASE)
"""How a question sounds that asks whether a factor does harm."""


def better_level(verdict: FactorVerdict) -> str:
    """Return the level at which columns last longer or, of a pace, decline more slowly."""
    ratio, effect = verdict.ratio, verdict.effect
    middle = next((end for end in (ratio.value, ratio.low, ratio.high) if end is not None), 1.0)
    return effect.level if (middle > 1) != verdict.by_rate else effect.against


@dataclass(frozen=True, slots=True)
class Compared:
    """Two levels of a factor that a question or an expectation holds against each other."""

    factor: str
    worse: str
    """The one that is expected to fail earlier, or to decline faster."""
    better: str
    by_rate: bool
    """Whether it is said of rates."""


MORE_STABLE = re.compile(r"\bmore (stable|robust|durable|rugged)\b", re.IGNORECASE)
OUTLASTS = re.compile(r"\bout(last|live)s?\b", re.IGNORECASE)
FASTER = re.compile(r"\b(faster|slower|quicker)\b", re.IGNORECASE)


def compared_levels(evidence: Evidence, text: str) -> Compared | None:
    """Return which level `text` says to be worse than which: `earlier on beta than on alpha`."""
    plain = OUTLASTS.sub("better", MORE_STABLE.sub("better", text))
    if NEGATED.search(text) or bool(WORSE.search(plain)) == bool(BETTER.search(plain)):
        return None
    for factor in evidence.study.factors:
        named = named_levels(text, factor)
        others = [level for level in factor.levels if level not in named]
        if not named or len({*named, *others}) < 2 or len(named) + len(others[:1]) > 2 < len(factor.levels):
            continue
        first, second = (*named, *others)[:2]
        worse, better = (first, second) if WORSE.search(plain) else (second, first)
        return Compared(factor.name, worse, better, bool(FASTER.search(text)))
    return None


def weighed(ranking: Ranking, compared: Compared) -> tuple[FactorVerdict, bool] | None:
    """Return what is settled of two levels, with whether it is as was said; None where nothing is."""
    pair = {compared.worse, compared.better}
    own = [
        verdict
        for verdict in ranking.factors
        if verdict.effect.factor == compared.factor
        and {verdict.effect.level, verdict.effect.against} == pair
        and verdict.verdict != "open"
    ]
    own.sort(key=lambda verdict: verdict.by_rate != compared.by_rate)
    if not own or (compared.by_rate and not own[0].by_rate):
        return None
    return own[0], own[0].verdict == "changes" and better_level(own[0]) == compared.better


def comparison_words(scope: Scope, compared: Compared, verdict: FactorVerdict, agrees: bool) -> str:
    """Return what the data say of two levels, as the question has it."""
    if verdict.by_rate or not scope.named or verdict.verdict == "alike":
        return effect_words(verdict)
    worse, better = (compared.worse, compared.better) if agrees else (compared.better, compared.worse)
    where = f"earlier on {worse} than on {better}"
    return f"{order_words.passes(scope)} {where}, after {times_words(verdict, worse)}"


def _compared(evidence: Evidence, scope: Scope, ranking: Ranking) -> str:
    """Return yes or no to `does it tail earlier on beta than on alpha?`, of levels of a factor."""
    text = scope.question.text
    sentence = asked_sentence(text)
    compared = compared_levels(evidence, sentence) if not scope.asked else None
    if compared is None or not YES_OR_NO.search(text):
        return ""
    found = weighed(ranking, compared)
    if found is None:
        return ""
    verdict, agrees = found
    word = f"{'Yes' if agrees else 'No'}{'' if verdict.strength == 'shown' else AS_FAR}"
    return f"{word}: {comparison_words(scope, compared, verdict, agrees)}"


def factors_untold(evidence: Evidence, scope: Scope) -> list[str]:
    """Return that the effects of the stated factors cannot be computed, and why, where none could be."""
    columns = [c.id for group in scope.groups for c in evidence.study.replicates(group)]
    names = [f"the {factor.name}" for factor in evidence.study.factors]
    failed = sum(
        d.life.state == "reached" and not d.life.extrapolated
        for column in columns
        if (d := evidence.decline(column, *scope.deciding)) is not None
    )
    if not names or not scope.deciding[1]:
        return []
    few = f"only {spelled(failed)}" if failed else "none"
    open_to = f"{CANNOT_TELL} what {listed(names, 'or')} does to life"
    return [f"{open_to}: {few} of {spelled(len(columns))} columns surely failed"]
