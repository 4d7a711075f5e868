"""The stress of what is compared in a few words, with what the log says of its pH.

In: `Study`, groups. Out: `at pH 10.5 by plan and 10.29 to 10.52 by the log, 55 °C, 40 % acetonitrile`.
"""

from collections.abc import Callable, Mapping, Sequence

from lyewitness.decline.judging import under_one_stress
from lyewitness.findings.medium.retention_by_ph import HARMLESS_PH
from lyewitness.study.records import Column, Study
from lyewitness.words.numbers import fixed, stated, with_unit
from lyewitness.words.phrases import (
    listed,
)


def conditions_words(study: Study, groups: Sequence[str] = ()) -> str:
    """Return `at pH 11.0, 60 °C, 25 % acetonitrile`: the stress of what is compared, stated and one for all.

    Of these groups' columns, or of all. `by plan` stands beside what no log shows.
    """
    stress = study.stress
    columns = [one for group in groups or study.groups for one in under_one_stress(study, group)]
    ph = {stress.ph if column.ph is None else column.ph for column in columns} or {stress.ph}
    warm = {
        stress.temperature_C if column.temperature_C is None else column.temperature_C for column in columns
    } or {stress.temperature_C}
    parts, planned = [], []
    for values, write, name in ((ph, _ph_words, "ph"), (warm, _warm_words, "temperature_C")):
        (value, *more) = values
        if more:
            if told := _with_exceptions(study, columns, name, write):
                parts.append(told)
            continue
        if value is None:
            continue
        if any(getattr(row, name) is not None for row in study.conditions):
            logged = _logged_words(study, [one.id for one in columns]) if write is _ph_words else ""
            parts.append(write(value) + logged)
        else:
            planned.append(write(value))
    if planned:
        # What nobody logged is known by the plan alone.
        parts.insert(0, f"{listed(planned)} by plan")
    if stress.organic and stress.organic_percent:
        parts.append(f"{with_unit(stated(stress.organic_percent), '%')} {stress.organic}")
    return f"at {', '.join(parts)}" if parts else ""


FEW = 4
"""One column in so many, or fewer, stands as an exception; more are a design, which the answer tells."""


def _with_exceptions(
    study: Study, columns: Sequence[Column], name: str, write: Callable[[float], str]
) -> str:
    """Return `50 °C (R1 at 53.8 °C)` where few columns ran otherwise than the plan; empty where many did."""
    plan = getattr(study.stress, name)
    own = {one.id: getattr(one, name) for one in columns if getattr(one, name) not in (None, plan)}
    if plan is None or not own or FEW * len(own) > len(columns):
        return ""
    apart = listed(f"{column} at {write(value)}" for column, value in own.items())
    return f"{write(plan)} ({apart})"


def _logged_words(study: Study, columns: Sequence[str]) -> str:
    """Return ` by plan and 10.27 to 10.64 by the log`, where the pH on one column moved enough to say so.

    A column that alone went further is told apart: of the others its readings are not true.
    """
    by_column: dict[str, list[float]] = {}
    for row in study.conditions:
        if row.ph is not None and row.column in columns:
            by_column.setdefault(row.column, []).append(row.ph)
    moved = {name: own for name, own in by_column.items() if max(own) - min(own) > HARMLESS_PH}
    if not moved:
        return ""
    lone = [name for name in moved if len(moved) > 2 and _goes_further(name, moved)]
    usual = [value for name, own in moved.items() if name not in lone for value in own]
    alone = "".join(f", {_ph_span(moved[name])} on {name}" for name in lone)
    return f" by plan and {_ph_span(usual)} by the log{alone}"


def _goes_further(name: str, readings: Mapping[str, Sequence[float]]) -> bool:
    """Return whether a column's readings lie beyond those of all others by what a meter repeats within."""
    own, others = readings[name], [value for one, found in readings.items() if one != name for value in found]
    return max(min(others) - min(own), max(own) - max(others)) > HARMLESS_PH


def _ph_span(values: Sequence[float]) -> str:
    return f"{fixed(min(values), 2)} to {fixed(max(values), 2)}"


def _ph_words(ph: float) -> str:
    return f"pH {fixed(ph, max(1, len(stated(ph).partition('.')[2])))}"


def _warm_words(temperature_C: float) -> str:
    return with_unit(stated(temperature_C), "°C")
