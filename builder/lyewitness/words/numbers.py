"""The one place that owns rounding, units and significant figures.

In: numbers and estimates. Out: text as a report prints it: a thin space before units, a true
minus sign, as many figures as the uncertainty deserves.
"""

from math import ceil, floor, isfinite, log10

from lyewitness.words.estimates import Estimate

THIN_SPACE = "\u2009"
MINUS = "\u2212"
DASH = "\u2013"
DOWN, NEAREST, UP = -1, 0, 1
"""Which way a number is rounded."""


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
    return _grouped(text).replace("-", MINUS)


def stated(value: float) -> str:
    """Return a number that was stated or chosen with the decimals it was stated with: `80`, `2.05`, `30 000`.

    Six decimals at most: what is finer than that in a study folder is the trace of a division.
    """
    text = f"{value:.6f}".rstrip("0").rstrip(".")
    return _grouped("0" if text == "-0" else text).replace("-", MINUS)


def with_unit(text: str, unit: str) -> str:
    """Join a printed number and its unit with a thin space (SI brochure, 5.4.3)."""
    return f"{text}{THIN_SPACE}{unit}" if unit else text


def length_words(length_nm: float) -> str:
    """Return a length in the unit that keeps it short: nm, µm or mm."""
    for unit, size in (("mm", 1e6), ("µm", 1e3)):
        if length_nm >= size:
            return with_unit(stated(length_nm / size), unit)
    return with_unit(stated(length_nm), "nm")


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
    """Return `62 h (55 to 71)`, `at least 120 h` or `at most 3 h`; the reason where there is nothing.

    The value is rounded to the nearest, a low end never up and a high end never down, neither to 0. A value
    that its interval does not tell from 0 may be 0: '0.00 (−0.02 to 0.02)'.
    """
    finest = FINEST.get(unit, 0.0)
    value, low, high = (
        "" if end is None else _told(end, estimate, towards, finest)
        for end, towards in ((estimate.value, NEAREST), (estimate.low, DOWN), (estimate.high, UP))
    )
    if value:
        bounds = _bounds(low, high)
        return f"{with_unit(value, unit)} ({bounds})" if bounds else with_unit(value, unit)
    if low and high:
        return with_unit(f"{low} to {high}", unit)
    if low or high:
        return with_unit(_bounds(_bare(low), _bare(high)), unit)
    return estimate.reason or DASH


def ends_beside(estimate: Estimate) -> tuple[str, str]:
    """Return the ends as `interval` puts them beside a value: `55`, `71`; empty where one is open."""
    low, high = (
        "" if end is None else _told(end, estimate, towards)
        for end, towards in ((estimate.low, DOWN), (estimate.high, UP))
    )
    return low, high


def _bounds(low: str, high: str) -> str:
    """Return `55 to 71`, `at least 55` or `at most 71`; empty where both ends are open."""
    if low and high:
        return f"{low} to {high}"
    return f"at least {low}" if low else f"at most {high}" if high else ""


def _bare(text: str) -> str:
    """Return a bound without idle decimals: nothing beside it says how well it is known."""
    return text.rstrip("0").rstrip(".") if "." in text else text


FINEST = {"%": 0.1}
"""The finest step by unit: no column's percentage of its reference is known to more than a tenth (common
practice), and '100.000 % (99.999 to 100.001)' says no more than '100.0 % (99.9 to 100.1)'."""


def _told(value: float, estimate: Estimate, towards: int, finest: float = 0.0) -> str:
    """Return one number of an interval in the step that the interval deserves, no finer than `finest`."""
    low, high = estimate.low, estimate.high
    around_nothing = low is not None and high is not None and low < 0 < high
    step = max(finest, _step(value, estimate))
    return _in_steps(value, step, towards, or_nothing=around_nothing and towards == NEAREST)


def _step(value: float, estimate: Estimate) -> float:
    """Return the step to which a number beside `estimate` is rounded.

    Where half the interval is a hundred or more, whole tens or hundreds; where its ends lie apart by more
    than a factor of two, each number has two figures of its own.
    """
    low, high = estimate.low, estimate.high
    # Half an interval of a hundred or more has two figures in tens: 200 is twice that.
    if low is None or high is None or not isfinite(high - low) or high - low < 200 or not value:
        return float(10.0 ** -places_for(estimate))
    if low <= 0 or high > 2 * low:
        return max(1.0, _step_of_figures(value, 2))
    return float(10.0 ** (floor(log10((high - low) / 2)) - 1))


def _step_of_figures(value: float, digits: int) -> float:
    """Return the step that leaves `value` (not 0) that many significant figures."""
    return float(10.0 ** (floor(log10(abs(value))) - digits + 1))


def _in_steps(value: float, step: float, towards: int, or_nothing: bool = False) -> str:
    """Return `value` in whole steps; in tenths of the step where that would make nothing of it, which it may
    become only `or_nothing`.
    """
    if not isfinite(value):
        return DASH
    # A millionth of a step is what division leaves of 62.0; it must not take 62 down to 61.
    near = round(value / step, 6)
    whole = {DOWN: floor(near), NEAREST: floor(near + 0.5), UP: ceil(near)}[towards]
    if value and not whole and not or_nothing:
        return _in_steps(value, step / 10, towards)
    return fixed(whole * step, max(0, -floor(log10(step) + 0.5)))


def bound(value: float, digits: int, towards: int) -> str:
    """Return `value` with that many significant figures, rounded `DOWN` or `UP` and never to 0."""
    return _in_steps(value, _step_of_figures(value, digits), towards) if value else "0"


def as_printed(value: float, digits: int, towards: int) -> float:
    """Return the number that `bound` prints, so that what is reckoned from it agrees with what is read."""
    return float("".join(sign for sign in bound(value, digits, towards) if sign.isdigit() or sign == "."))


def in_step(value: float, estimate: Estimate, down: bool = False) -> str:
    """Return `value` with the decimals that `estimate` beside it has, so that the two can be compared.

    `down` never rounds up, for what must lie on the safe side. Three figures where `estimate` is none.
    """
    if estimate.value is not None:
        return _told(value, estimate, DOWN if down else NEAREST)
    return bound(value, 3, DOWN) if down else rounded(value)


def p_value(value: float | None) -> str:
    """Return a p value: `p = 0.013`, `p = 0.009`, `p < 0.001`; an en dash where there is none."""
    if value is None:
        return DASH
    if value < 0.001:
        return f"p{THIN_SPACE}<{THIN_SPACE}0.001"
    return f"p{THIN_SPACE}={THIN_SPACE}{fixed(value, 3) if value < 0.01 else rounded(value, 2)}"


def _grouped(text: str) -> str:
    """Group the digits before the decimal point by threes with a thin space, from five digits on."""
    sign, digits = (text[:1], text[1:]) if text[:1] in ("-", MINUS) else ("", text)
    whole, point, rest = digits.partition(".")
    if len(whole) > 4:
        whole = f"{int(whole):,}".replace(",", THIN_SPACE)
    return f"{sign}{whole}{point}{rest}"


def _bound_of_ratio(value: float, towards: int) -> str:
    """Return the end of a ratio with two figures, with up to four where fewer would make it 1."""
    told = [bound(value, digits, towards) for digits in (2, 3, 4)]
    return next((text for text in told if float(text) != 1.0), told[0]) if abs(value - 1) < 0.1 else told[0]


NEAR_ONE = 2.0
"""Ratios below it, not below a quarter, are held against 1 and against margins of a few per cent."""


def _to_hundredths(value: float, low: float, high: float) -> str:
    """Return a ratio and its interval to two decimals, the ends never towards the value."""
    down, up = floor(100.0 * low + 1e-9) / 100.0, ceil(100.0 * high - 1e-9) / 100.0
    return f"{value:.2f} ({down:.2f} to {up:.2f})"


def ratio_of(estimate: Estimate) -> str:
    """Return a ratio with two figures at least in each of its numbers: `4.3 (3.1 to 5.9)`, `at least 1.5`.

    Empty where there is nothing; ends are rounded as in `interval`, near one to hundredths.
    """
    ends = [end for end in (estimate.value, estimate.low, estimate.high) if end is not None]
    if len(ends) == 3 and places_for(estimate) >= 1:
        coarse = places_for(estimate) == 1 and min(ends) > 1.0 / NEAR_ONE**2 and max(ends) < NEAR_ONE
        return _to_hundredths(*ends) if coarse else interval(estimate)
    value = "" if estimate.value is None else rounded(estimate.value, 2)
    low = "" if estimate.low is None else _bound_of_ratio(estimate.low, DOWN)
    high = "" if estimate.high is None else _bound_of_ratio(estimate.high, UP)
    bounds = _bounds(low, high)
    return f"{value} ({bounds})" if value and bounds else value or bounds
