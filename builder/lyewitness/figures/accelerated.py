"""Rates against the temperature or the pH they were measured at.

In: accelerated fits. Out: the figures `accelerated-<marker>-<metric>`, where a study varied the stress.
"""

from collections.abc import Sequence

import numpy as np
from matplotlib.axes import Axes
from matplotlib.ticker import FuncFormatter, LogLocator

from lyewitness.decline.records import AcceleratedFit
from lyewitness.figures.axes import dress
from lyewitness.figures.labels import height_for, name_ends, room_for
from lyewitness.figures.records import Figure, table_of
from lyewitness.figures.sheets import applied, finished, new_sheet, panel
from lyewitness.figures.style import GroupInk, Look
from lyewitness.findings.records import Report
from lyewitness.words.arrays import FloatArray
from lyewitness.words.constants import GAS_CONSTANT_KJ_MOL_K, ZERO_CELSIUS_K
from lyewitness.words.estimates import Estimate
from lyewitness.words.metrics import metric_of_marker
from lyewitness.words.names import slug
from lyewitness.words.numbers import interval, stated
from lyewitness.words.phrases import sentence

HEIGHT_PX = 340


def accelerated_figures(report: Report, look: Look) -> list[Figure]:
    """Return one figure a marker, metric and variable for which rates at several settings are known."""
    usable = [fit for fit in report.judgement.accelerated if sum(rate > 0 for rate in fit.rates_per_h) > 1]
    kinds = dict.fromkeys((fit.marker, fit.metric, fit.variable) for fit in usable)
    return [
        _figure(report, look, [fit for fit in usable if (fit.marker, fit.metric, fit.variable) == kind])
        for kind in kinds
    ]


def _figure(report: Report, look: Look, fits: Sequence[AcceleratedFit]) -> Figure:
    first = fits[0]
    with applied(look):
        light, dark, height = _draw(fits, report.study.groups, look)
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


def _draw(fits: Sequence[AcceleratedFit], groups: Sequence[str], look: Look) -> tuple[bytes, bytes, int]:
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
