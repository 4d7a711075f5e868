"""Residuals of the fitted curves and their serial correlation, for those who check the method.

In: declines. Out: the figure `residuals`.
"""

from collections.abc import Sequence

import numpy as np
from matplotlib.axes import Axes

from lyewitness.decline.records import Decline
from lyewitness.figures.axes import KEY_PX, draw_key, dress, key_places, number
from lyewitness.figures.decline_curves import dots
from lyewitness.figures.events import EventMarks, event_marks, mark_events, marks_told
from lyewitness.figures.records import Figure, table_of
from lyewitness.figures.sheets import applied, finished, new_sheet, panel
from lyewitness.figures.slimming import HALOED
from lyewitness.figures.style import FAINT, INK, MUTED, Look
from lyewitness.findings.records import Report
from lyewitness.words.metrics import metric_name, metric_of_marker
from lyewitness.words.numbers import fixed, rounded, with_unit
from lyewitness.words.phrases import sentence


def residuals_figure(report: Report, look: Look) -> Figure | None:
    """Return residuals of the deciding metric, and the serial correlation of all; None without fits."""
    fitted = [one for one in report.judgement.declines if one.residuals.size and one.curve_h.size]
    deciding = [one for one in fitted if (one.series.marker, one.series.metric) == report.judgement.deciding]
    shown = deciding or fitted[:9]
    if not shown:
        return None
    marks = event_marks(report.study, (one.series.column for one in shown))
    with applied(look):
        light, dark, height = _draw(shown, fitted, report.study.groups, marks, look)
    said = _said(shown, fitted)
    return Figure(
        id="residuals",
        file="figures/residuals.svg",
        data=light,
        dark=dark,
        title="What the fitted curves leave over",
        caption=f"{said} Left: measured − fitted, every column. Right: lag-one correlation of the residuals, "
        f"one stroke a series, by metric; at 0 the noise is not serial. {marks_told(marks)}".strip(),
        alt=said,
        width_px=look.width_px,
        height_px=height,
        table=_table(fitted),
    )


def _said(shown: Sequence[Decline], fitted: Sequence[Decline]) -> str:
    """Say how large and how serial the residuals are."""
    sds = [one.model.residual_sd for one in shown if one.model is not None]
    correlations = [one.serial_correlation for one in fitted if one.serial_correlation is not None]
    words = metric_of_marker(shown[0].series.marker, shown[0].series.metric)
    size = with_unit(rounded(float(np.median(sds)), 2), "%") if sds else ""
    parts = [
        f"residuals of the {words}: standard deviation {size} of the reference (median column)"
        if size
        else ""
    ]
    if correlations:
        middle = fixed(float(np.median(correlations)), 2)
        parts.append(f"median lag-one correlation over {len(correlations)} series {middle}")
    return sentence("; ".join(part for part in parts if part))


def _draw(
    shown: Sequence[Decline],
    fitted: Sequence[Decline],
    groups: Sequence[str],
    marks: Sequence[EventMarks],
    look: Look,
) -> tuple[bytes, bytes, int]:
    """Return the drawing and its height."""
    metrics = tuple(dict.fromkeys(one.series.metric for one in fitted if one.serial_correlation is not None))
    present = [group for group in groups if any(one.series.group == group for one in fitted)]
    inks = {group: look.group(groups.index(group)) for group in present}
    places = key_places(inks, look)
    top = 42 + KEY_PX * (1 + places[-1][0])
    tall = max(242.0, 2.9 * look.label_px * len(metrics))
    height = round(top + tall + 50)
    sheet = new_sheet(look.width_px, height)
    draw_key(sheet, inks, places, look)
    wide = look.width_px * (0.48 if metrics else 1.0)
    left = panel(sheet, 46, top, wide - 54, tall)
    _residuals(left, shown, groups, look)
    mark_events(left, marks, look)
    dress(left, look, "exposure / h", "measured − fitted / % of reference", (5, 6))
    if metrics:
        right = panel(sheet, wide + 24, top, look.width_px - wide - 34, tall)
        _correlations(right, fitted, metrics, groups, look)
    return (*finished(sheet, look), height)


def _residuals(axes: Axes, shown: Sequence[Decline], groups: Sequence[str], look: Look) -> None:
    """Draw residuals against exposure, joined thinly so that runs can be seen."""
    axes.axhline(0, color=MUTED, linewidth=1.0)
    for one in shown:
        ink = look.group(groups.index(one.series.group))
        dashes = ink.dashes or (None, None)
        axes.plot(
            one.series.exposure_h, one.residuals, color=ink.colour, linewidth=0.7, alpha=0.6, dashes=dashes
        )
        dots(axes, one.series.exposure_h, one.residuals, ink.colour, 3.0)
    largest = max(float(np.max(np.abs(one.residuals))) for one in shown) or 1.0
    axes.set_ylim(-1.1 * largest, 1.1 * largest)
    axes.set_xlim(0, 1.01 * max(float(one.series.exposure_h[-1]) for one in shown) or 1.0)


def _correlations(
    axes: Axes, fitted: Sequence[Decline], metrics: Sequence[str], groups: Sequence[str], look: Look
) -> None:
    """Draw one stroke a series on a line for each metric, the metric's name above its line."""
    axes.set_xlim(-1, 1)
    axes.set_ylim(len(metrics) - 0.4, -0.7)
    axes.axvline(0, color=MUTED, linewidth=1.0)
    for row, metric in enumerate(metrics):
        axes.axhline(row, color=FAINT, linewidth=1.0, zorder=0)
        axes.annotate(
            metric_name(metric),
            (0, row),
            (0, 9),
            xycoords=("axes fraction", "data"),
            textcoords="offset points",
            color=INK,
            gid=HALOED,
            zorder=5,
        )
        for one in fitted:
            if one.series.metric == metric and one.serial_correlation is not None:
                colour = look.group(groups.index(one.series.group)).colour
                axes.plot(
                    [one.serial_correlation], [row], "|", color=colour, markersize=12, markeredgewidth=1.5
                )
    axes.spines["left"].set_visible(False)
    axes.set_yticks([])
    axes.set_xlabel("lag-one correlation", loc="right", labelpad=3)
    number(axes.xaxis, 5)


def _table(fitted: Sequence[Decline]) -> tuple[tuple[str, ...], ...]:
    """Return size and serial correlation of the residuals of every series."""
    rows = (
        (
            one.series.column,
            one.series.group,
            one.series.marker,
            one.series.metric,
            one.model.name if one.model is not None else "",
            one.model.residual_sd if one.model is not None else None,
            one.serial_correlation,
        )
        for one in fitted
    )
    header = ("column", "group", "marker", "metric", "model", "residual_sd_percent", "serial_correlation")
    return table_of(header, rows)
