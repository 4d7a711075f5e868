"""What moves the life of a column: the factors of a design, and rates against temperature or pH.

In: the effects of a study's factors. Out: the figures `factors-<marker>-<metric>` of what decides a question.
"""

from collections.abc import Sequence

import numpy as np
from matplotlib.axes import Axes
from matplotlib.ticker import FuncFormatter, LogLocator, NullFormatter

from lyewitness.decline.records import AcceleratedFit, FactorEffect
from lyewitness.figures.labels import fitted, height_for, name_ends, room_for
from lyewitness.figures.records import Figure, table_of
from lyewitness.figures.sheets import applied, dress, finished, new_sheet, panel
from lyewitness.figures.slimming import HALOED
from lyewitness.figures.style import INK, MUTED, GroupInk, Look
from lyewitness.findings.records import Report
from lyewitness.words.arrays import FloatArray
from lyewitness.words.constants import GAS_CONSTANT_KJ_MOL_K, ZERO_CELSIUS_K
from lyewitness.words.estimates import Estimate
from lyewitness.words.lives import tell_ratio
from lyewitness.words.metrics import metric_of_marker
from lyewitness.words.names import slug
from lyewitness.words.numbers import interval, stated
from lyewitness.words.phrases import sentence

HEIGHT_PX = 340
"""Less than that of the declines: what follows from them is told smaller."""


def accelerated_figures(report: Report, look: Look) -> list[Figure]:
    """Return one figure a marker, metric and variable for which rates at several settings are known."""
    usable = [fit for fit in report.judgement.accelerated if sum(rate > 0 for rate in fit.rates_per_h) > 1]
    kinds = dict.fromkeys((fit.marker, fit.metric, fit.variable) for fit in usable)
    return [
        _rates_figure(report, look, [fit for fit in usable if (fit.marker, fit.metric, fit.variable) == kind])
        for kind in kinds
    ]


def _rates_figure(report: Report, look: Look, fits: Sequence[AcceleratedFit]) -> Figure:
    first = fits[0]
    with applied(look):
        light, dark, height = _draw_rates(fits, report.study.groups, look)
    name = f"accelerated-{slug(first.marker)}-{slug(first.metric)}" + (
        "-ph" if first.variable == "pH" else ""
    )
    said = sentence(
        f"rate of the {metric_of_marker(first.marker, first.metric)} against {first.variable}: "
        + "; ".join(f"{fit.group} {_slope_words(fit)}" for fit in fits)
    )
    return Figure(
        id=name,
        file=f"figures/{name}.svg",
        data=light,
        dark=dark,
        title=f"Rate against {first.variable}: {metric_of_marker(first.marker, first.metric)}",
        caption=f"{said} Points: columns; lines: the fit, over the tested range alone; "
        "bands: the interval of its slope, turned about the middle.",
        alt=said,
        width_px=look.width_px,
        height_px=height,
        table=table_of(
            ("group", first.variable, "rate_per_h"),
            ((fit.group, *pair) for fit in fits for pair in zip(fit.settings, fit.rates_per_h, strict=True)),
        ),
    )


def _slope_words(fit: AcceleratedFit) -> str:
    """Return the slope in words, or why there is none."""
    if fit.variable == "temperature":
        energy = interval(fit.activation_energy_kJ_mol, "kJ/mol")
        return f"activation energy {energy}" if fit.activation_energy_kJ_mol.value is not None else energy
    slope = interval(fit.slope_per_ph)
    return f"{slope} decades per pH unit" if fit.slope_per_ph.value is not None else slope


def _draw_rates(
    fits: Sequence[AcceleratedFit], groups: Sequence[str], look: Look
) -> tuple[bytes, bytes, int]:
    names = [fit.group for fit in fits]
    inks = [look.group(groups.index(name)) for name in names]
    height = round(max(HEIGHT_PX, 88 + height_for(names, look)))
    sheet = new_sheet(look.width_px, height)
    axes = panel(sheet, 64, 38, look.width_px - 64 - room_for(names, look), height - 38 - 50)
    ends = [_one(axes, fit, ink) for fit, ink in zip(fits, inks, strict=True)]
    across = "temperature / °C" if fits[0].variable == "temperature" else "pH"
    dress(axes, look, across, "rate of loss / (1/h), logarithmic", (6, 6))
    axes.set_yscale("log")
    axes.yaxis.set_major_locator(LogLocator(subs=(1, 2, 5)))
    axes.yaxis.set_major_formatter(FuncFormatter(lambda rate, place: stated(float(f"{rate:.3g}"))))
    axes.yaxis.set_minor_locator(LogLocator(subs=()))
    axes.margins(x=0.04)
    name_ends(axes, look, names, ends, inks)
    return (*finished(sheet, look), height)


def _one(axes: Axes, fit: AcceleratedFit, ink: GroupInk) -> float:
    """Draw one group's rates and line; return where the line ends."""
    settings, rates = np.array(fit.settings), np.array(fit.rates_per_h)
    known = rates > 0
    axes.plot(settings[known], rates[known], ink.mark, color=ink.colour)
    slope = _log_slope(fit)
    if slope.value is None:
        return float(rates[known][-1])
    scale = _scale(settings[known], fit)
    fine = np.linspace(settings.min(), settings.max(), 40)
    middle = float(np.mean(np.log(rates[known])))
    apart = _scale(fine, fit) - np.mean(scale)
    line = np.exp(middle + slope.value * apart)
    axes.plot(fine, line, color=ink.colour, dashes=ink.dashes or (None, None))
    if slope.low is not None and slope.high is not None:
        low, high = (np.exp(middle + end * apart) for end in (slope.low, slope.high))
        axes.fill_between(fine, low, high, color=ink.colour, alpha=0.13, linewidth=0, zorder=1)
    return float(line[-1])


def _log_slope(fit: AcceleratedFit) -> Estimate:
    """Return the slope of ln(rate) on the scale of `_scale`, with its interval; empty if unknown."""
    known = fit.activation_energy_kJ_mol if fit.variable == "temperature" else fit.slope_per_ph
    factor = -1 / GAS_CONSTANT_KJ_MOL_K if fit.variable == "temperature" else float(np.log(10))
    value, low, high = (end if end is None else end * factor for end in (known.value, known.low, known.high))
    return Estimate(value, low, high)


def _scale(settings: FloatArray, fit: AcceleratedFit) -> FloatArray:
    """Return what ln(rate) is straight against: 1/T in 1/K (Arrhenius), or the pH itself."""
    return 1.0 / (settings + ZERO_CELSIUS_K) if fit.variable == "temperature" else settings


LEADING = 1.3
"""From line to line, in label sizes."""
WIDEST = 200.0
"""An open end, or one further out, is drawn to the edge: beyond it a ratio says 'much' and no more."""
LEAST_SPAN = 1.6
"""Factor to either side of 1 that the axis shows at least, so that a ratio of 1.02 looks like none."""


def factor_figures(report: Report, look: Look) -> list[Figure]:
    """Return one figure for each marker and metric that decides a question and of which effects are known."""
    pairs = dict.fromkeys((report.judgement.deciding, *(one.deciding for one in report.findings.answers)))
    found = []
    for pair in pairs:
        effects = _in_order(
            [e for e in report.judgement.factor_effects if (e.marker, e.metric) == pair and _of(e)]
        )
        if effects:
            found.append(_figure(look, effects))
    return found


def _of(effect: FactorEffect) -> Estimate | None:
    """Return the ratio of lives, or of rates where no life was reached; None where neither is known."""
    for ratio in (effect.ratio, effect.rate_ratio):
        if ratio.value is not None or ratio.low is not None or ratio.high is not None:
            return ratio
    return None


def _in_order(effects: Sequence[FactorEffect]) -> list[FactorEffect]:
    """Return each main effect with its effects at the levels of other factors below it."""
    main = [one for one in effects if not one.other]
    return [
        one for whole in main for one in (whole, *(e for e in effects if e.other and _key(e) == _key(whole)))
    ]


def _key(effect: FactorEffect) -> tuple[str, str, str]:
    return effect.factor, effect.level, effect.against


def _figure(look: Look, effects: Sequence[FactorEffect]) -> Figure:
    first = effects[0]
    look = look.narrow()  # few words and short bars: it stands in a margin, beside the sentence it bears out
    with applied(look):
        light, dark, height = _draw(effects, look)
    name = f"factors-{slug(first.marker)}-{slug(first.metric)}"
    told = "; ".join(f"{_name(one)}: {_told(one)}" for one in effects)
    by_rate = [one for one in effects if _of(one) is one.rate_ratio]
    what = (
        "lives" if not by_rate else "rates of decline" if len(by_rate) == len(effects) else "lives or rates"
    )
    return Figure(
        id=name,
        file=f"figures/{name}.svg",
        data=light,
        dark=dark,
        title=f"What each factor does: {metric_of_marker(first.marker, first.metric)}",
        caption=f"{sentence(told)} {_how_drawn(effects, what)}",
        alt=sentence(f"Ratios of {what}: {told}"),
        width_px=look.width_px,
        height_px=height,
        table=table_of(
            ("factor", "level", "against", "at", "of", "ratio", "low", "high"),
            (
                (one.factor, one.level, one.against, one.at, _kind(one), ratio.value, ratio.low, ratio.high)
                for one in effects
                if (ratio := _of(one))
            ),
        ),
    )


def _how_drawn(effects: Sequence[FactorEffect], what: str) -> str:
    """Say what dots, bars and lines are, of those that are there."""
    ratios = [ratio for one in effects if (ratio := _of(one))]
    opened = any(ratio.low is None or ratio.high is None for ratio in ratios)
    told = (
        f"Dots: ratio of {what}" if any(ratio.value is not None for ratio in ratios) else "",
        "bars: its interval" + (", open ends drawn to the edge" if opened else ""),
        "paler: at one level of another factor" if any(one.other for one in effects) else "",
        "line at 1: no difference",
    )
    return sentence("; ".join(part for part in told if part))


def _kind(effect: FactorEffect) -> str:
    return "rate" if _of(effect) is effect.rate_ratio else "life"


def _name(effect: FactorEffect) -> str:
    """Return `sacrificial column: with ÷ without`, or of an effect at one level of another factor `on C8`."""
    return (
        f"at {effect.other} {effect.at}"
        if effect.other
        else (f"{effect.factor}: {effect.level} ÷ {effect.against}")
    )


def _told(effect: FactorEffect) -> str:
    ratio = _of(effect)
    words = tell_ratio(ratio) if ratio is not None else ""
    return f"{words} (of rates)" if _kind(effect) == "rate" else words


def _draw(effects: Sequence[FactorEffect], look: Look) -> tuple[bytes, bytes, int]:
    """Return the drawing and its height: names and numbers above each bar, so that no width cuts them."""
    line = LEADING * look.label_px
    wide = look.width_px - 28.0
    words = [
        fitted(f"{'   ' if one.other else ''}{_name(one)}   {_told(one)}", wide, look.words_width)
        for one in effects
    ]
    rows = [line * len(lines) + 16.0 for lines in words]
    tall = sum(rows) + 6.0
    height = round(8 + tall + 40)
    sheet = new_sheet(look.width_px, height)
    axes = panel(sheet, 14, 8, wide, tall)
    span = _span(effects)
    axes.set_xscale("log")
    axes.set_xlim(1 / span, span)
    axes.set_ylim(tall, 0)
    axes.spines["left"].set_visible(False)
    axes.set_yticks([])
    top = 0.0
    for one, lines, row in zip(effects, words, rows, strict=True):
        for number, part in enumerate(lines):
            axes.annotate(
                part, (0, top + (number + 0.75) * line), xycoords=("axes fraction", "data"), color=INK,
                va="baseline", gid=HALOED,
            )  # fmt: skip
        # The line of no difference beside the bar alone: through words it would strike them out.
        axes.vlines(1.0, top + row - 16.0, top + row, color=MUTED, linewidth=1.0, zorder=0)
        _bar(axes, top + row - 8.0, one, span, look)
        top += row
    axes.xaxis.set_major_locator(LogLocator(subs=(1, 2, 5)))
    axes.xaxis.set_major_formatter(FuncFormatter(lambda ratio, place: stated(float(f"{ratio:.3g}"))))
    axes.xaxis.set_minor_formatter(NullFormatter())
    axes.set_xlabel("ratio, logarithmic", loc="right", labelpad=3)
    return (*finished(sheet, look), height)


def _bar(axes: Axes, up: float, effect: FactorEffect, span: float, look: Look) -> None:
    ratio = _of(effect)
    if ratio is None:
        return
    low, high = ratio.low or 1 / span, ratio.high or span
    pale = 0.55 if effect.other else 1.0
    axes.plot([low, high], [up, up], color=INK, linewidth=look.line_px * 1.4, alpha=pale, zorder=2)
    if ratio.value is not None:
        axes.plot([ratio.value], [up], "o", color=INK, markersize=look.mark_px, alpha=pale, zorder=3)


def _span(effects: Sequence[FactorEffect]) -> float:
    """Return the factor to either side of 1 that shows every known end."""
    ratios = [ratio for one in effects if (ratio := _of(one))]
    ends = [end for r in ratios for end in (r.value, r.low, r.high) if end is not None and end > 0]
    widest = max((float(np.exp(abs(np.log(end)))) for end in ends), default=1.0)
    return min(max(1.15 * widest, LEAST_SPAN), WIDEST)
