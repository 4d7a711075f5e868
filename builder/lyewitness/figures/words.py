"""Names and sentences that several figures share.

In: records and numbers. Out: ids, file names, axis words, captions' parts. Numbers through `quantities`.
"""

import re
from collections.abc import Iterable, Sequence
from hashlib import sha256

from lyewitness.decline.records import GroupLife, Life
from lyewitness.estimates import Estimate
from lyewitness.quantities import fixed, interval, rounded, with_unit
from lyewitness.study.records import LIMITED_METRICS, Limit

UNITS = {
    "retention_time_min": "min",
    "hold_up_time_min": "min",
    "peak_area": "signal × min",
    "peak_height": "signal",
    "pressure_bar": "bar",
    "temperature_C": "°C",
    "flow_mL_min": "mL/min",
    "width_half_min": "min",
}
_OTHER_NAMES = {"temperature_C": "temperature", "ph": "pH", "flow_mL_min": "flow rate"}


def slug(text: str) -> str:
    """Return `text` as a part of an id; a hash sets changed names apart; `column` where it is empty."""
    safe = re.sub(r"[^A-Za-z0-9_-]+", "-", text).strip("-")[:60]
    if safe == text:
        return safe or "column"
    return f"{safe}-{sha256(text.encode()).hexdigest()[:6]}".lstrip("-")


def metric_name(metric: str) -> str:
    """Return the words a report has for `metric`."""
    return LIMITED_METRICS.get(metric) or _OTHER_NAMES.get(metric, metric.replace("_", " "))


def axis_words(metric: str) -> str:
    """Return the label of an axis in the metric's own unit."""
    unit = UNITS.get(metric, "")
    return f"{metric_name(metric)} / {unit}" if unit else metric_name(metric)


def subject(marker: str, metric: str) -> str:
    """Return `plate number (half height) of toluene`, or `pressure` for a metric of the column itself."""
    return f"{metric_name(metric)} of {marker}" if marker else metric_name(metric)


def life_words(life: Life) -> str:
    """Return the life in words: `62 h (55 to 71)`, `at least 120 h`, or why there is none."""
    estimate = life.hours
    if life.state == "not reached" and estimate.low is not None:
        estimate = Estimate(low=estimate.low)
    if estimate.value is None and estimate.low is None and estimate.high is None:
        return estimate.reason or life.state
    return interval(estimate, "h")


def group_life_words(group_life: GroupLife) -> str:
    """Return a sentence's worth: the group and its life."""
    return f"{group_life.group} {life_words(group_life.life)}"


def limit_words(limit: Limit) -> str:
    """Return the limit as it stands on its rule: `limit 80 %`, `limit 2`."""
    percent = limit.at_least_percent if limit.at_least_percent is not None else limit.at_most_percent
    if percent is not None:
        return f"limit {with_unit(stated(percent), '%')}"
    bound = limit.at_least if limit.at_least is not None else limit.at_most
    return f"limit {with_unit(stated(bound or 0.0), UNITS.get(limit.metric, ''))}"


def limit_of(limit: Limit) -> str:
    """Return the limit as it stands in a sentence: `limit of 80 %`."""
    return limit_words(limit).replace("limit ", "limit of ", 1)


def stated(value: float) -> str:
    """Return a number that was stated or chosen, with the figures it has: `80`, `2.5`, `30 000`."""
    figures = len(f"{abs(value):.6g}".replace(".", "").lstrip("0"))
    whole = len(f"{abs(value):.0f}")
    return rounded(value, max(figures, whole, 1))


def hours_words(hours: float) -> str:
    """Return an exposure as it is read: to a tenth of an hour."""
    return with_unit(stated(round(hours, 1)), "h")


def listed(parts: Iterable[str], joint: str = "and") -> str:
    """Return `a, b and c`."""
    words = list(parts)
    return f" {joint} ".join([", ".join(words[:-1]), words[-1]] if len(words) > 1 else words)


def sentence(text: str) -> str:
    """Return `text` with a capital letter and a full stop."""
    stripped = text.strip()
    return stripped[:1].upper() + stripped[1:] + ("" if stripped.endswith((".", "?")) else ".")


def number_cell(value: float | None, digits: int = 6) -> str:
    """Return a cell of a data table: plain ASCII, empty for none."""
    return "" if value is None or value != value else f"{value:.{digits}g}"


def table_of(
    header: Sequence[str], rows: Iterable[Sequence[str | float | None]]
) -> tuple[tuple[str, ...], ...]:
    """Return rows of text, header first."""
    body = (tuple(one if isinstance(one, str) else number_cell(one) for one in row) for row in rows)
    return (tuple(header), *body)


def percent_words(value: float) -> str:
    """Return a share in percent."""
    return with_unit(fixed(value, 0), "%")
