"""How often intervals of lives hold the truth, by law of decline and number of injections.

In: the shipped calibration. Out: the figure `held-lives`, the same in every report of one program.
"""

from collections.abc import Sequence
from itertools import product

from matplotlib.axes import Axes
from matplotlib.patches import Rectangle

from lyewitness.decline.method_notes import LawHeld, said_of, shipped_calibration
from lyewitness.figures.records import Figure, table_of
from lyewitness.figures.sheets import applied, finished, new_sheet, panel
from lyewitness.figures.style import ACCENT, INK, Look
from lyewitness.findings.records import Report
from lyewitness.words.numbers import rounded
from lyewitness.words.phrases import sentence

CLAIMED = 95.0
"""Per cent of the intervals that are to hold the truth: cells from here on have no colour."""
DEEPEST = 70.0
"""Per cent held from which on a cell has the full colour: an interval of 95 % that is none."""
FULL = 0.55
"""Opacity of the full colour: numbers on it keep a contrast of 4.5 to 1 on both grounds."""
ROW_EMS = 2.0
"""Height of a row in sizes of the type."""


def held_lives_figure(_: Report, look: Look) -> Figure | None:
    """Return the figure; None where no calibration by laws is shipped."""
    rows = [one for one in shipped_calibration().laws if one.columns > 1]
    if not rows:
        return None
    shares = held_by_law_and_number(rows)
    laws = tuple(dict.fromkeys(one.law for one in rows))
    numbers = tuple(sorted({one.n for one in rows}))
    with applied(look):
        light, dark, height = _draw(shares, laws, numbers, look)
    short = [one for one in product(laws, numbers) if shares[one] < CLAIMED]
    said = _said(rows, shares, short)
    return Figure(
        id="held-lives",
        file="figures/held-lives.svg",
        data=light,
        dark=dark,
        title="How often intervals hold the life, by law and number of injections",
        caption=f"{said} Each field: per cent of the intervals of 95 % that held the true life in studies of "
        f"{rows[0].columns} columns, all noises together; the stronger the colour, the more missed it.",
        alt=said,
        width_px=look.width_px,
        height_px=height,
        table=table_of(
            ("law", "injections", "held_percent"),
            ((law, n, round(shares[law, n], 1)) for law, n in product(laws, numbers)),
        ),
    )


def held_by_law_and_number(rows: Sequence[LawHeld]) -> dict[tuple[str, int], float]:
    """Return per cent of claims held by law and number of injections, all noises together."""
    sums: dict[tuple[str, int], tuple[int, int]] = {}
    for one in rows:
        held, claims = sums.get((one.law, one.n), (0, 0))
        sums[one.law, one.n] = (held + one.held, claims + one.claims)
    return {key: 100.0 * held / claims if claims else 100.0 for key, (held, claims) in sums.items()}


def _said(
    rows: Sequence[LawHeld], shares: dict[tuple[str, int], float], short: Sequence[tuple[str, int]]
) -> str:
    """Say how many were held, and where it falls shortest."""
    held = 100.0 * sum(one.held for one in rows) / max(sum(one.claims for one in rows), 1)
    words = f"of {sum(one.claims for one in rows)} intervals {rounded(held, 3)} % held the true life"
    if short:
        law, n = min(short, key=lambda key: shares[key])
        lowest = f"{rounded(shares[law, n], 2)} % for {said_of(law)} with {n} injections"
        words += f"; in {len(short)} of {len(shares)} fields fewer than 95 %, fewest {lowest}"
    return sentence(words)


def _draw(
    shares: dict[tuple[str, int], float], laws: Sequence[str], numbers: Sequence[int], look: Look
) -> tuple[bytes, bytes, int]:
    """Return the drawing and its height."""
    names = [said_of(law) for law in laws]
    room = max(look.words_width(name) for name in names) + 16
    tall = ROW_EMS * look.label_px * len(laws)
    top = 3.4 * look.label_px
    height = round(top + tall + 10)
    sheet = new_sheet(look.width_px, height)
    axes = panel(sheet, room, top, look.width_px - room - 10, tall)
    for (across, n), (up, law) in product(enumerate(numbers), enumerate(laws)):
        _field(axes, across, up, shares[law, n], look)
    axes.set_xlim(0, len(numbers))
    axes.set_ylim(len(laws), 0)
    axes.set_xticks([k + 0.5 for k in range(len(numbers))], [str(n) for n in numbers])
    axes.set_yticks([k + 0.5 for k in range(len(laws))], names)
    axes.xaxis.tick_top()
    axes.tick_params(length=0)
    for spine in axes.spines.values():
        spine.set_visible(False)
    title = "injections; % of the intervals that held the life"
    # Above narrow fields it reaches over the names of the laws, which stand lower.
    fits = look.words_width(title) < look.width_px - room - 10
    axes.set_title(title, loc="left" if fits else "right", pad=look.label_px * 0.8)
    return (*finished(sheet, look), height)


def _field(axes: Axes, across: int, up: int, percent: float, look: Look) -> None:
    """Draw one field: its colour tells the shortfall, its number the share."""
    lack = min(max((CLAIMED - percent) / (CLAIMED - DEEPEST), 0.0), 1.0)
    if lack > 0:
        axes.add_patch(
            Rectangle((across + 0.02, up + 0.05), 0.96, 0.9, facecolor=ACCENT, alpha=FULL * lack, linewidth=0)
        )
    axes.text(
        across + 0.5, up + 0.5, f"{percent:.0f}", ha="center", va="center_baseline", color=INK,
        fontsize=look.label_px,
    )  # fmt: skip
