"""How near the conditions of a study lie to those asked for.

In: what is asked, a study, one of its lives. Out: shares to rank by, and `Term`s: each a clause that says
what was run beside what was asked. A pH at temperature is held against a pH at temperature, so that pH 11 of
an amine at 60 °C is no pH 11 of a phosphate.
"""

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import lru_cache
from math import exp

from lyewitness.chemistry.medium import stress_medium
from lyewitness.chemistry.records import NotComputableError
from lyewitness.shelf.ranges import Range, decimal
from lyewitness.shelf.records import ColumnLife, Shelved
from lyewitness.shelf.understanding import Asked
from lyewitness.words.numbers import stated, with_unit
from lyewitness.words.phrases import counted, hours
from lyewitness.words.settings import setting_words

# A rate doubles or triples over 10 °C, and over about half a pH unit: that far is another experiment.
NEAR_C = 10.0
NEAR_PH = 0.5
# Beyond three of these nothing is left of a rate to learn from.
FAR = 3
# Where a question states a pH without a temperature, it was measured at the bench.
BENCH_C = 25.0
# Kelvins and degrees Fahrenheit in whole numbers come within this of whole degrees Celsius.
ROUNDED_C = 0.16
# What an oven, and a pH when hot as computed, are known to at best.
AS_ASKED_C, AS_ASKED_PH = 0.5, 0.05
# Buffers are made up to a per cent or two, and flows are truer: nearer than this is as asked.
AS_ASKED = 0.02
# A concentration or a flow bears on a life less than another type or buffer does.
SETTING = 0.25


@dataclass(frozen=True, slots=True)
class Term:
    """One thing that was asked as a number, beside what a study has of it."""

    told: str
    """A clause."""
    fits: bool
    """Whether it bears on the question; else it is told as what is another here."""
    bonus: float = 0.0
    """What it adds to the score beside its nearness."""


def terms(asked: Asked, study: Shelved, life: ColumnLife, own: Sequence[ColumnLife]) -> Iterator[Term]:
    """Yield each condition, setting and time asked for; `own` are the lives of the type that decided."""
    if asked.temperature_C is not None:
        yield _heat(asked.temperature_C, life)
    if asked.ph is not None:
        yield _acid(asked, asked.ph, life)
    yield from _settings(asked, study, life)
    if asked.span_h is not None:
        alone = not asked.words and asked.ranges == (("span_h", asked.span_h),)
        yield from _tested(asked.span_h, own, alone)


def nearness(asked: Asked, life: ColumnLife) -> float:
    """Return 0 … 2: a share for each condition asked for, 1 within the range that was asked."""
    near = 0.0
    if asked.temperature_C is not None and life.temperature_C is not None:
        near += exp(-asked.temperature_C.beyond(life.temperature_C) / NEAR_C)
    gap = _gap_ph(asked, life)
    return near + (exp(-gap / NEAR_PH) if gap is not None else 0.0)


def is_apart(asked: Asked, life: ColumnLife) -> bool:
    """Return whether a condition lies halfway to another experiment from what was asked, or is not known."""
    gaps = []
    if asked.temperature_C is not None:
        heat = life.temperature_C
        gaps.append(asked.temperature_C.beyond(heat) / NEAR_C if heat is not None else None)
    if asked.ph is not None:
        gap = _gap_ph(asked, life)
        gaps.append(gap / NEAR_PH if gap is not None else None)
    # Halfway to another experiment a life is one and a half times another: beyond it types are no reason.
    return any(gap is None or gap > 0.5 for gap in gaps)


def asked_hot(asked: Asked, life: ColumnLife) -> Range | None:
    """Return the pH asked for at the temperature asked for, in the study's own buffer; None where unknown.

    Of a range of temperatures that is the one that lies nearest to the study's own.
    """
    if asked.ph is None or asked.temperature_C is None:
        return None
    heat = life.temperature_C if life.temperature_C is not None else asked.temperature_C.furthest
    at = asked.temperature_C.nearest(heat)
    ends = (asked.ph.low, asked.ph.high)
    low, high = (None if end is None else hot_of(life, end, at) for end in ends)
    if (low is None, high is None) != (ends[0] is None, ends[1] is None):
        return None
    return Range(low, high, asked.ph.strict)


def hot_of(life: ColumnLife, ph: float, temperature_C: float) -> float | None:
    """Return a bench pH at temperature in the buffer of a life; None where it cannot be computed."""
    return _hot(life.buffer, life.buffer_mM, ph, temperature_C)


# Bounds of one medium take 50 ms, and most studies of a shelf share a few.
@lru_cache(maxsize=512)
def _hot(buffer: str, buffer_mM: float | None, ph: float, temperature_C: float) -> float | None:
    try:
        return stress_medium(buffer, buffer_mM, ph, BENCH_C, temperature_C).ph.value
    except NotComputableError:
        return None


def _compared_ph(asked: Asked, life: ColumnLife) -> tuple[Range, float, bool] | None:
    """Return the pH asked for, the study's, and whether both are hot; at the bench where one is not known."""
    if asked.ph is None or life.ph is None:
        return None
    hot = asked_hot(asked, life)
    if hot is None or life.ph_hot is None:
        return asked.ph, life.ph, False
    return hot, life.ph_hot, True


def _gap_ph(asked: Asked, life: ColumnLife) -> float | None:
    compared = _compared_ph(asked, life)
    return compared[0].beyond(compared[1]) if compared is not None else None


def _heat(wanted: Range, life: ColumnLife) -> Term:
    heat = life.temperature_C
    told = wanted.told("temperature_C")
    if heat is None:
        return Term(f"was run at a temperature that is not told, though, where {told} was asked", False)
    was, gap = f"was run at {with_unit(stated(heat), '°C')}", wanted.beyond(heat)
    if wanted.is_point:
        if gap > FAR * NEAR_C:
            return Term(f"{was}, though, where {told} was asked", False)
        return Term(f"{was}, {'as asked' if gap < AS_ASKED_C else f'{gap:g} °C from what was asked'}", True)
    return _in_range(was, wanted.holds(heat, ROUNDED_C), told, f"{gap:g} °C" if gap > ROUNDED_C else "")


def _acid(asked: Asked, wanted: Range, life: ColumnLife) -> Term:
    compared, told = _compared_ph(asked, life), wanted.told("ph")
    if compared is None:
        return Term(f"was run at a pH that is not told, though, where {told} was asked", False)
    held, value, both_hot = compared
    gap, hot = held.beyond(value), f" ({life.ph_hot:.1f} when hot)" if life.ph_hot is not None else ""
    was, both = f"was run at pH {life.ph:g}{hot}", ", both when hot" if both_hot else ""
    if wanted.is_point:
        if gap > FAR * NEAR_PH:
            return Term(f"was run at pH {life.ph:g}, though, where {told} was asked", False)
        far = "as asked" if gap < AS_ASKED_PH else f"{gap:.1f} from what was asked{both}"
        return Term(f"{was}, {far}", True)
    beyond = f"{gap:.1f}" if gap >= AS_ASKED_PH else ""
    return _in_range(was, held.holds(value, AS_ASKED_PH), told, beyond, both)


def _in_range(was: str, within: bool, told: str, gap: str, of_both: str = "") -> Term:
    """Return how a value lies to a range: within, `gap` beyond, or on the end that is left out."""
    if within:
        return Term(f"{was}, within the range asked ({told})", True)
    where = f"{gap} beyond" if gap else "just outside"
    return Term(f"{was}, {where} the range asked ({told}{of_both})", False)


def _settings(asked: Asked, study: Shelved, life: ColumnLife) -> Iterator[Term]:
    """Yield what else was asked as a number, beside what the study states of it."""
    held = dict(study.settings)
    held.update(*(column.settings for column in study.columns if column.id == life.column))
    for key, wanted in asked.quantities:
        number = re.match(r"[\d.,]+", told) if (told := held.get(key)) else None
        if number is None or told is None:
            continue
        value = decimal(number.group(0))
        has = f"had {_article(setting_words(key))} of {told}"
        if wanted.holds(value, AS_ASKED * abs(value) if not wanted.strict else 0.0):
            fits = "as asked" if wanted.is_point else f"within the range asked ({wanted.told(key)})"
            yield Term(f"{has}, {fits}", True, SETTING)
        else:
            yield Term(f"{has}, where {wanted.told(key)} was asked", wanted.is_point)


def _article(words: str) -> str:
    return f"{'an' if words[0] in 'aeiou' else 'a'} {words}"


def lasted(life: ColumnLife, span_h: float) -> bool:
    """Return whether a column surely lasted a time, by the end of its interval."""
    return (life.low_h or 0.0) >= span_h


def ended(life: ColumnLife, span_h: float) -> bool:
    """Return whether it surely did not."""
    return life.high_h is not None and life.high_h < span_h


def untested(life: ColumnLife, span_h: float) -> bool:
    """Return whether a column was within its limit when its test ended, before that time."""
    known = life.tested_h is not None and life.tested_h < span_h
    return known and life.life_h is None and not ended(life, span_h) and not lasted(life, span_h)


def _tested(span: Range, own: Sequence[ColumnLife], alone: bool) -> Iterator[Term]:
    """Yield whether columns were tested for the time asked for, which ranks where nothing else is asked."""
    wanted = span.furthest
    tested = [one.tested_h for one in own if one.tested_h is not None]
    if not own or len(tested) < len(own):
        return
    bonus = sum(lasted(one, wanted) for one in own) / len(own) if alone else 0.0
    short = [one for one in own if untested(one, wanted)]
    if short:
        most = hours(max(one.tested_h or 0.0 for one in short))
        which = "was" if len(short) == len(own) else f"had {counted(len(short), 'column')}"
        told = f"{which} tested for {most} only, where {asked_time(span)} was asked"
        yield Term(told, len(short) < len(own), bonus)
    elif max(tested) >= wanted:
        told = f"was tested for {hours(max(tested))}, as long as was asked ({asked_time(span)})"
        yield Term(told, True, bonus)
    else:
        yield Term(f"had columns that failed within the time asked ({asked_time(span)})", True)


def asked_time(span: Range) -> str:
    """Return a time that was asked for, in days where they are whole: `at least 3 days`."""
    days = span.through(lambda value: value / 24)
    ends = [end for end in (days.low, days.high) if end is not None]
    if any(end < 2 or end != int(end) for end in ends):
        return span.told("span_h")
    return days.told("span_h").replace(with_unit("", "h"), " days")
