"""What the columns tested are not of what was asked: at other conditions, or of several levels together.

In: `Evidence`, a `Scope`. Out: clauses for the short answer.
"""

import re
from collections.abc import Callable, Mapping, Set

from lyewitness.decline.factors import levels_within, mixed_levels
from lyewitness.decline.judging import under_one_stress
from lyewitness.decline.records import GroupLife
from lyewitness.decline.usable_lives import failed_before
from lyewitness.findings.answer.question_scope import Scope
from lyewitness.findings.answer.reading_questions import read_question
from lyewitness.findings.answer.use_claims import Elsewhere, Held, cut_short
from lyewitness.findings.evidence import Evidence
from lyewitness.study.factor_words import at_all, at_level
from lyewitness.study.questions import named_factors
from lyewitness.study.records import Study
from lyewitness.study.set_on_purpose import setting_of
from lyewitness.words.lives import tell
from lyewitness.words.numbers import fixed, stated, with_unit
from lyewitness.words.phrases import columns_of, hours, listed, spelled

INSTEAD = r"(?:\s+(?:instead of|rather than|not)\s+(?:pH\s*)?\d+(?:[.,]\d+)?)?"
"""What stands between a value and its unit in `54 instead of 50 °C`: nobody asks about the second."""
ASKED_C = re.compile(rf"(\d+(?:[.,]\d+)?){INSTEAD}\s*°\s*C\b")
ASKED_PH = re.compile(rf"\bpH\s*(?:of\s*)?(\d+(?:[.,]\d+)?){INSTEAD}", re.IGNORECASE)
NEUTRAL_PH = 7.0
"""From here on a higher pH is harder on columns; in acid it is the other way round (common practice)."""
APART_C, APART_PH = 2.0, 0.15
"""From here on other conditions are asked about than were tested: ovens keep to 2 °C, and buffers to 0.1 pH
(common practice)."""


READ: Mapping[str, tuple[re.Pattern[str], float, Callable[[float], str]]] = {
    "temperature_C": (ASKED_C, APART_C, lambda value: with_unit(stated(value), "°C")),
    "ph": (ASKED_PH, APART_PH, lambda value: f"pH {stated(value)}"),
}
"""How a setting is named, from where on it is another one, and how it is told."""


ASKED_ELSEWHERE = "you ask about"
"""How it begins that the reader's conditions are not those of the test: a letter tells it beside these."""


def asked_conditions(evidence: Evidence, scope: Scope) -> list[str]:
    """Return that a question is about another temperature or pH than was tested, and which is the harder."""
    said = []
    for one in _elsewhere(evidence, scope):
        harder = "" if one.harder is None else f", which is {'harder' if one.harder else 'milder'} on columns"
        said.append(f"{ASKED_ELSEWHERE} {one.asked}; we tested at {one.tested}{harder}")
    return said


def between_replies(evidence: Evidence, scope: Scope) -> list[str]:
    """Return what may be expected at a pH or temperature between two that were tested; nothing for another.

    The order of lives along either is known (common practice), not the law: between two lives lies the third.
    """
    asked = [(name, *_between(evidence, scope, name)) for name in READ]
    found = [one for one in asked if one[1] is not None]
    if len(found) != 1 or scope.named:
        return []
    name, wanted, low, high = found[0]
    if wanted is None:
        return []
    lives = [_life_at(evidence, scope, name, value) for value in (low, high)]
    if None in lives:
        return []
    values = [READ[name][2](value) for value in (wanted, low, high)]
    if name == "ph":
        # Of one scale all are told alike.
        values = [f"pH {fixed(value, 1)}" for value in (wanted, low, high)]
    told = " and ".join(tell(life.life) for life in lives if life is not None)
    beside = [one for one in _elsewhere(evidence, scope) if one.harder is not None]
    moves = "".join(f", {'longer' if one.harder else 'shorter'} at {one.asked}" for one in beside)
    where = f"{values[0]} was not tested; it lies between {values[1]} and {values[2]}"
    return [f"{where}, where columns lasted {told}: a life between these is to be expected{moves}"]


def _between(evidence: Evidence, scope: Scope, name: str) -> tuple[float | None, float, float]:
    """Return the value of a setting that is asked about, and those next to it that were tested."""
    asked, apart, _ = READ[name]
    named = {float(number.replace(",", ".")) for number in asked.findall(scope.question.text)}
    columns = (evidence.study.replicates(group) for group in scope.groups)
    tested = {setting_of(evidence.study, column, name) for own in columns for column in own}
    known = sorted(value for value in tested if value is not None)
    if len(named) == 1 and len(known) > 1:
        (wanted,) = named
        low = max((value for value in known if value <= wanted - apart), default=None)
        high = min((value for value in known if value >= wanted + apart), default=None)
        near = any(abs(value - wanted) < apart for value in known)
        if low is not None and high is not None and not near and (name != "ph" or low >= NEUTRAL_PH):
            return wanted, low, high
    return None, 0.0, 0.0


def _life_at(evidence: Evidence, scope: Scope, name: str, value: float) -> GroupLife | None:
    """Return the life of the one group that was tested at a value of a setting; None for none or several."""
    at = [
        group
        for group in scope.groups
        if {setting_of(evidence.study, one, name) for one in evidence.study.replicates(group)} == {value}
    ]
    return evidence.group_life(at[0], *scope.deciding) if len(at) == 1 else None


def elsewhere(evidence: Evidence, scope: Scope) -> Elsewhere | None:
    """Return at which other conditions than the question is about the columns were tested; None where at
    these."""
    found = _elsewhere(evidence, scope)
    if not found:
        return None
    harder = {one.harder for one in found}
    return Elsewhere(
        " and ".join(one.asked for one in found),
        " and ".join(one.tested for one in found),
        harder.pop() if len(harder) == 1 else None,
    )


def _elsewhere(evidence: Evidence, scope: Scope) -> list[Elsewhere]:
    study = evidence.study
    columns = [one for group in scope.groups for one in under_one_stress(study, group)]
    warm = {study.stress.temperature_C if one.temperature_C is None else one.temperature_C for one in columns}
    ph = {study.stress.ph if one.ph is None else one.ph for one in columns}
    text = scope.question.text
    found = (
        _other_than(text, warm, *READ["temperature_C"]),
        _other_than(text, ph, *READ["ph"], NEUTRAL_PH),
    )
    return [one for one in found if one is not None]


def _other_than(
    text: str,
    tested: Set[float | None],
    asked: re.Pattern[str],
    apart: float,
    write: Callable[[float], str],
    rising_from: float = 0.0,
) -> Elsewhere | None:
    """Return what is asked about beside what was tested; None where it names none, or the one tested."""
    named = {float(number.replace(",", ".")) for number in asked.findall(text)}
    known = [value for value in tested if value is not None]
    if len(named) != 1 or len(tested) != 1 or not known:
        return None
    (wanted,), (own,) = named, known
    if abs(wanted - own) < apart:
        return None
    return Elsewhere(write(wanted), write(own), own > wanted if min(own, wanted) >= rising_from else None)


def asks_within_types(evidence: Evidence, scope: Scope) -> bool:
    """Return whether a question is after what something varied within the types does, and no more."""
    within = {name for group in scope.groups for name in levels_within(evidence.study, group)}
    named = named_factors(scope.question.text, [factor.name for factor in evidence.study.factors])
    return bool(within.intersection(named)) and not read_question(scope.question.text, scope.groups).choice


def pooled(evidence: Evidence, scope: Scope) -> list[str]:
    """Return of which types the lives are of columns at several levels of what was varied."""
    told: dict[str, list[str]] = {}
    for group in scope.asked or scope.groups:
        for name, levels in mixed_levels(evidence.study, group).items():
            told.setdefault(at_all(name, list(levels)), []).append(group)
    return [
        f"the lives of {listed(columns_of(group) for group in groups)} are of columns {words} together"
        for words, groups in told.items()
    ]


def at_levels(study: Study, found: Held) -> list[str]:
    """Return how the columns of a type stand to a span at each level of what was varied among them:
    `of the core columns, two of three without the guard and none of two with the guard failed`."""
    said = []
    gone = failed_before(found.lives, found.span.hours)
    failed = {life.column for life in gone}
    short = cut_short(found.lives, gone, found.span.hours)
    known = {life.column for life in found.lives}.difference(short)
    for name, levels in mixed_levels(study, found.group).items():
        at = [
            f"{_how_many(len(failed & own), len(own))} {at_level(name, level, list(levels))}"
            for level, columns in levels.items()
            if (own := known.intersection(columns))
        ]
        if failed and len(at) > 1:
            of = columns_of(found.group) + (" watched that long" if short else "")
            said.append(f"of {of}, {listed(at)} failed before {hours(found.span.hours)}")
    return said


def _how_many(number: int, total: int) -> str:
    """Return `two of three`, `none of two`, `both`, `all three`, `the one`."""
    if number and number == total:
        return {1: "the one", 2: "both"}.get(total, f"all {spelled(total)}")
    return f"{spelled(number) if number else 'none'} of {spelled(total)}"
