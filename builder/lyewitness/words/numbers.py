"""The one place that owns rounding, units and significant figures.

In: numbers and estimates. Out: text as a report prints it: a thin space before units, a true
minus sign, as many figures as the uncertainty deserves.
"""

from math import floor, isfinite, log10

from lyewitness.words.estimates import Estimate

THIN_SPACE = "\u2009"
MINUS = "\u2212"
DASH = "\u2013"


def rounded(value: float, digits: int = 3) -> str:
    """Return `value` with `digits` significant figures, plain notation; an en dash where not finite."""
    if not isfinite(value):
        return DASH
    if value == 0:
        return "0"
    places = max(0, digits - 1 - floor(log10(abs(value))))
    text = f"{value:.{places}f}"
    if float(text) == 0:
        text = text.lstrip("-")
    return _grouped(text).replace("-", MINUS)


def fixed(value: float, places: int) -> str:
    """Return `value` with `places` decimals and a true minus sign; an en dash where not finite."""
    if not isfinite(value):
        return DASH
    text = f"{value:.{places}f}"
    if float(text) == 0:
        text = text.lstrip("-")
    return text.replace("-", MINUS)


def stated(value: float) -> str:
    """Return a number that was stated or chosen with the decimals it was stated with: `80`, `2.05`, `30 000`.

    Six decimals at most: what is finer than that in a study folder is the trace of a division.
    """
    text = f"{value:.6f}".rstrip("0").rstrip(".")
    return _grouped("0" if text == "-0" else text).replace("-", MINUS)


def with_unit(text: str, unit: str) -> str:
    """Join a printed number and its unit with a thin space (SI brochure, 5.4.3)."""
    return f"{text}{THIN_SPACE}{unit}" if unit else text


def stated_in(value: float | None, unit: str = "") -> str:
    """Return a number as it was stated, with its unit; empty where it was not stated."""
    return with_unit(stated(value), unit) if value is not None else ""


def places_for(estimate: Estimate) -> int:
    """Return how many decimals `estimate` deserves: the interval's half width to two figures at most.

    Source: common practice (uncertainty with at most two significant figures).
    """
    ends = [end for end in (estimate.low, estimate.value, estimate.high) if end is not None and isfinite(end)]
    spread = max(ends) - min(ends) if len(ends) > 1 else 0.0
    if spread <= 0:
        biggest = max((abs(end) for end in ends), default=1.0)
        return max(0, 2 - floor(log10(biggest))) if biggest > 0 else 0
    return max(0, -floor(log10(spread / 2)) if spread >= 2e-12 else 6)


def interval(estimate: Estimate, unit: str = "") -> str:
    """Return `62 h (55 to 71)`, `at least 120 h` or `at most 3 h`; the reason where there is nothing."""
    if estimate.value is None:
        if estimate.low is not None and estimate.high is None:
            return "at least " + with_unit(_bare(_end(estimate.low, estimate)), unit)
        if estimate.high is not None and estimate.low is None:
            return "at most " + with_unit(_bare(_end(estimate.high, estimate)), unit)
        if estimate.low is not None and estimate.high is not None:
            between = f"{_end(estimate.low, estimate)} to {_end(estimate.high, estimate)}"
            return with_unit(between, unit)
        return estimate.reason or DASH
    value = with_unit(_end(estimate.value, estimate), unit)
    if estimate.low is None and estimate.high is None:
        return value
    if estimate.low is None:
        return f"{value} (at most {_end(estimate.high or 0.0, estimate)})"
    if estimate.high is None:
        return f"{value} (at least {_end(estimate.low, estimate)})"
    return f"{value} ({_end(estimate.low, estimate)} to {_end(estimate.high, estimate)})"


def _bare(text: str) -> str:
    """Return a bound without idle decimals: nothing beside it says how well it is known."""
    return text.rstrip("0").rstrip(".") if "." in text else text


def _end(value: float, estimate: Estimate) -> str:
    """Return one number of an interval: to tens or hundreds where its half width is a hundred or more.

    In an interval whose ends lie apart by more than a factor of two, each number has two figures.
    """
    low, high = estimate.low, estimate.high
    if low is None or high is None or not isfinite(high - low) or high - low < 200 or not value:
        return fixed(value, places_for(estimate))
    step = 10.0 ** (floor(log10((high - low) / 2)) - 1)
    if low <= 0 or high > 2 * low:
        step = max(min(step, 10.0), 10.0 ** (floor(log10(abs(value))) - 1))
    return fixed(floor(value / step + 0.5) * step, 0)


def in_step(value: float, estimate: Estimate, down: bool = False) -> str:
    """Return `value` with the decimals that `estimate` beside it has, so that the two can be compared.

    `down` rounds towards less, for what must lie on the safe side. Three figures where `estimate` is none.
    """
    if estimate.value is None:
        return rounded(value)
    step = 10.0 ** -places_for(estimate)
    told = floor(value / step + 1e-9) * step if down else value
    return _end(told, estimate)


def p_value(value: float | None) -> str:
    """Return a p value: `p = 0.013`, `p = 0.009`, `p < 0.001`; an en dash where there is none."""
    if value is None:
        return DASH
    if value < 0.001:
        return f"p{THIN_SPACE}<{THIN_SPACE}0.001"
    return f"p{THIN_SPACE}={THIN_SPACE}{fixed(value, 3) if value < 0.01 else rounded(value, 2)}"


def _grouped(text: str) -> str:
    """Group the digits before the decimal point by threes with a thin space, from five digits on."""
    sign, digits = ("-", text[1:]) if text.startswith("-") else ("", text)
    whole, point, rest = digits.partition(".")
    if len(whole) > 4:
        whole = f"{int(whole):,}".replace(",", THIN_SPACE)
    return f"{sign}{whole}{point}{rest}"


def ratio_of(estimate: Estimate) -> str:
    """Return a ratio with two figures at least in each of its numbers: `4.3 (3.1 to 5.9)`, `at least 1.5`."""
    value, low, high = (
        None if end is None else rounded(end, 2) for end in (estimate.value, estimate.low, estimate.high)
    )
    if value is None:
        if low is not None and high is not None:
            return f"{low} to {high}"
        return f"at least {low}" if low is not None else f"at most {high}" if high is not None else ""
    if low is not None and high is not None:
        places = places_for(estimate)
        if places >= 1:
            return interval(estimate)
        return f"{value} ({low} to {high})"
    return f"{value} (at least {low})" if low is not None else f"{value} (at most {high})" if high else value
