"""The media of a study: the stress, each column's own stress where it differs, and the test.

In: the study's conditions. Out: `Setting`s, each with its medium or with the reason for none.
"""

from dataclasses import dataclass, replace

from lyewitness.chemistry.medium import stress_medium
from lyewitness.chemistry.records import NotComputableError, StressMedium
from lyewitness.study.records import Conditions, Study
from lyewitness.words.estimates import Estimate
from lyewitness.words.numbers import fixed, rounded, with_unit


@dataclass(frozen=True, slots=True)
class Setting:
    """One mobile phase at one temperature."""

    id: str
    """`stress`, `stress-2`, … or `test`; the first half of the ids of its facts."""
    name: str
    """Such as `stress (H1, H2)`."""
    conditions: Conditions
    """With the columns' own temperature and pH put in."""
    columns: tuple[str, ...]
    """Ids of the columns it holds for."""
    medium: StressMedium | None
    reason: str
    """Why there is no medium, a clause; empty where there is one."""


def stress_settings(study: Study) -> tuple[Setting, ...]:
    """Return the distinct stresses of the study, in the order in which their first columns stand."""
    stress = study.stress
    settings: dict[tuple[float | None, float | None], list[str]] = {}
    for column in study.columns:
        temperature = stress.temperature_C if column.temperature_C is None else column.temperature_C
        ph = stress.ph if column.ph is None else column.ph
        settings.setdefault((temperature, ph), []).append(column.id)
    if not settings:
        settings[(stress.temperature_C, stress.ph)] = []
    only = len(settings) == 1
    return tuple(
        _setting(
            "stress" if only or index == 0 else f"stress-{index + 1}",
            "stress" if only else f"stress of {', '.join(columns)}",
            _with_own(stress, temperature, ph),
            tuple(columns),
        )
        for index, ((temperature, ph), columns) in enumerate(settings.items())
    )


def injection_setting(study: Study) -> Setting:
    """Return the mobile phase of the injections."""
    return _setting("test", "injections", study.test, tuple(column.id for column in study.columns))


def same_medium(first: Conditions, second: Conditions) -> bool:
    """Say whether two conditions mean the same aqueous part at the same temperature."""

    def what_counts(conditions: Conditions) -> tuple[object, ...]:
        return (
            conditions.buffer,
            conditions.buffer_mM,
            conditions.ph,
            conditions.ph_temperature_C,
            conditions.temperature_C,
        )

    return what_counts(first) == what_counts(second)


def same_bottle(first: Conditions, second: Conditions) -> bool:
    """Say whether two conditions draw the same aqueous part, whatever the temperature of the column."""
    return same_medium(replace(first, temperature_C=None), replace(second, temperature_C=None))


def stated(value: float, unit: str = "") -> str:
    """Return a number as somebody states it: no decimals where it has none, else three figures."""
    return with_unit(fixed(value, 0) if value == round(value) else rounded(value, 3), unit)


def ph_stated(ph: float) -> str:
    """Return a pH as somebody states it: one decimal, or two where it has two."""
    return fixed(ph, 1) if round(ph, 1) == ph else fixed(ph, 2)


def ph_interval(ph: Estimate) -> str:
    """Return `10.56 (10.50 to 10.62)`: pH is printed to two decimals (common practice)."""
    if ph.value is None or ph.low is None or ph.high is None:
        return ph.reason
    return f"{fixed(ph.value, 2)} ({fixed(ph.low, 2)} to {fixed(ph.high, 2)})"


def _with_own(stress: Conditions, temperature_C: float | None, ph: float | None) -> Conditions:
    """Return the stress with one column's temperature and pH."""
    return replace(stress, temperature_C=temperature_C, ph=ph)


def _setting(id: str, name: str, conditions: Conditions, columns: tuple[str, ...]) -> Setting:
    """Return the setting with its medium, or with the reason why there is none."""
    try:
        medium = stress_medium(
            conditions.buffer,
            conditions.buffer_mM,
            conditions.ph,
            conditions.ph_temperature_C,
            conditions.temperature_C,
        )
    except NotComputableError as missing:
        return Setting(id, name, conditions, columns, None, str(missing))
    return Setting(id, name, conditions, columns, medium, "")
