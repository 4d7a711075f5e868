"""What each factor does to the life of a column: ratios with their intervals on one logarithmic axis.

In: the effects of a study's factors. Out: the figures `factors-<marker>-<metric>` of what decides a question.
"""

from collections.abc import Sequence

import numpy as np
from matplotlib.axes import Axes
from matplotlib.ticker import FuncFormatter, LogLocator, NullFormatter

from lyewitness.decline.records import FactorEffect
from lyewitness.figures.labels import fitted
from lyewitness.figures.records import Figure, table_of
from lyewitness.figures.sheets import applied, finished, new_sheet, panel
from lyewitness.figures.style import INK, MUTED, Look
from lyewitness.findings.records import Report
from lyewitness.words.estimates import Estimate
from lyewitness.words.lives import tell_ratio
from lyewitness.words.metrics import metric_of_marker
from lyewitness.words.names import slug
from lyewitness.words.numbers import stated
from lyewitness.words.phrases import sentence

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
        caption=f"{sentence(told)} Dots: ratio of {what}; bars: its interval, open ends drawn to the edge; "
        "paler: at one level of another factor; line at 1: no difference.",
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
    axes.axvline(1.0, color=MUTED, linewidth=1.0, zorder=0)
    top = 0.0
    for one, lines, row in zip(effects, words, rows, strict=True):
        for number, part in enumerate(lines):
            axes.annotate(
                part, (0, top + (number + 0.75) * line), xycoords=("axes fraction", "data"), color=INK,
                va="baseline",
            )  # fmt: skip
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
