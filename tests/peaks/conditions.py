"""The stage by condition of the trace, beside what a chemist's own fits make of the same traces.

`python -m tests.peaks.conditions [--seed 41] [--injections 6] [--situations]` prints the table. Truths and
plain fits come from `trace_truths`, which knows nothing of the program.
"""

import argparse
import json
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import fields
from functools import cache
from pathlib import Path
from typing import Any

import numpy as np
from pybaselines import Baseline
from trace_truths import folder, judging, plain
from trace_truths.situations import SITUATIONS, TrueInjection, TrueSeries, series

from lyewitness.peaks.measuring import measure
from lyewitness.peaks.records import PeakRow
from lyewitness.study.records import Column, Conditions, Injection, Marker, MarkerRole, Question, Study
from lyewitness.traces.records import Trace
from lyewitness.words.arrays import FloatArray

SEED = 41
"""Not among those by which any threshold was chosen."""
INJECTIONS = 6
ROLES: dict[str, MarkerRole] = {"void": "void", "neutral": "neutral", "base": "base", "acid": "acid"}
CONDITIONS: Mapping[str, tuple[str, ...]] = {
    "clean": ("clean", "counts0p01", "counts0p1", "missing", "uneven", "sparse8"),
    "tails and overload": ("two_tails", "two_sites", "fronting", "overload"),
    "hump of 25 mAU": ("hump25",),
    "hump of 50 and 100": ("hump50", "hump100"),
    "wave of 8 mAU": ("wave8",),
    "drifting lamp, 1/f noise": ("lamp_walk", "lamp_flicker", "flicker", "thermal", "negative"),
    "ripple of pump and mixer": ("pump_ripple", "pump_ripple_big", "mixing_ripple"),
    "steps and a wash": ("step_lamp", "step_valve", "wash"),
    "signal-to-noise 20": ("sn20",),
    "signal-to-noise 10": ("sn10",),
    "signal-to-noise 5": ("sn5",),
    "dip of 35 at the void": ("dip35_before", "dip35_under", "lens35"),
    "dip of 90 at the void": ("dip90_before", "dip90_under", "lens90"),
    "spikes": ("spikes",),
    "a bubble on a peak": ("bubble_on", "bubble_beside"),
    "5 … 30 % of the top cut": ("clip5", "clip15", "clip30", "clip5_round", "clip15_round", "clip30_round"),
    "markers that meet": ("meet1p5", "meet1p2", "meet1p0", "meet0p8", "meet0p6", "swap"),
    "long tails that meet": ("meet1p2_sites", "meet0p8_sites", "meet1p2_front", "meet0p8_front"),
    "a product beside a marker": ("product0p8", "product0p6", "product_front0p8"),
    "products with long tails": ("product0p8_sites", "product0p6_sites", "product0p8_lab"),
    "other vials, leaks, blanks": ("wrong_vial", "other_vial_with_void", "leak", "blank", "carry_over"),
    "runs that end early": ("end_before", "end_on_front", "end_halfway", "drifts_out"),
    "a good day's instrument": ("lab_emg", "lab_two_tails", "lab_two_sites", "lab_fronting"),
    "a poor day's instrument": ("poor_lab_emg", "poor_lab_two_tails", "poor_lab_two_sites"),
    "16 s to 330 s in one run": ("long_run",),
}
"""What can be wrong with a trace, and the situations that show it."""
SHOWN = ("peak_area", "plate_number_half_height", "symmetry_factor")
STIFFNESS = 1e7
"""Of the global baseline by pybaselines: that which did best on tailing peaks, from a few tried by hand."""


def study_of(one: TrueSeries) -> Study:
    """Return the study that the folder of a series would be read as."""
    column = Column(one.column, one.column, one.column, "porous hybrid", "C18", 50.0, 2.1, 1.7)
    return Study(
        folder=Path(),
        id="s",
        title="s",
        questions=(Question("q", "Which lasts?"),),
        stress=Conditions(flow_mL_min=0.2),
        test=Conditions(flow_mL_min=0.2),
        columns=(column,),
        markers=tuple(Marker(m.name, ROLES[m.role], {one.column: m.expected_min}) for m in one.markers),
        limits=(),
        injections=tuple(
            Injection(i.name, f"{i.name}.csv", one.column, exposure_h=i.exposure_h) for i in one.injections
        ),
    )


def as_cells(row: PeakRow) -> dict[str, Any]:
    """Return a row as measurements.csv has it."""
    cells = {field.name: getattr(row, field.name) for field in fields(row)}
    return cells | {"flags": " ".join(row.flags), "found": "yes" if row.found else "no"}


def told_of(one: TrueSeries) -> Mapping[str, Any]:
    """Return the truth of a series as its file has it."""
    told: Mapping[str, Any] = json.loads(json.dumps({"series": [folder.truth_of(one)]}))
    return told


@cache
def judged(situation: str, seed: int = SEED, injections: int = INJECTIONS) -> tuple[judging.Case, ...]:
    """Return every marker of every injection of a situation as the program measures it, judged."""
    one = series(situation, seed, injections)
    traces = {
        i.name: Trace(i.name, "", i.time_min, i.signal_mau, "mAU", "min", "delimited text", "0" * 64)
        for i in one.injections
    }
    return tuple(judging.judge_rows(told_of(one), map(as_cells, measure(study_of(one), traces).rows)))


def _fitted(shot: TrueInjection, signal: FloatArray) -> Iterable[dict[str, Any]]:
    """Yield rows of single fits, each told where to look."""
    truths = {name: m.truth for name, m in shot.markers.items() if m.truth is not None}
    for name, truth in truths.items():
        near = [other.retention_time_min for n, other in truths.items() if n != name]
        at, wide = truth.retention_time_min, truth.width_half_min
        found = plain.fitted(shot.time_min, signal, at, wide, near)
        yield {"injection": shot.name, "marker": name, "found": "yes" if found else "no", **found}


@cache
def plainly_judged(
    situation: str, seed: int = SEED, injections: int = INJECTIONS
) -> tuple[judging.Case, ...]:
    """Return the same for single fits on straight local baselines, told where to look."""
    one = series(situation, seed, injections)
    rows = [row for shot in one.injections for row in _fitted(shot, shot.signal_mau)]
    return tuple(judging.judge_rows(told_of(one), rows))


@cache
def globally_judged(
    situation: str, seed: int = SEED, injections: int = INJECTIONS
) -> tuple[judging.Case, ...]:
    """Return the same where the baseline of the whole trace by pybaselines was taken off before."""
    one = series(situation, seed, injections)
    rows = []
    for shot in one.injections:
        ground = Baseline(shot.time_min).arpls(shot.signal_mau, lam=STIFFNESS)[0]
        rows += list(_fitted(shot, shot.signal_mau - ground))
    return tuple(judging.judge_rows(told_of(one), rows))


HEAD = (
    "95th percentile of |error|, %: area, N by half height, symmetry factor",
    "program / single fit on a straight local baseline / the same after a global baseline by pybaselines",
    "lost; misplaced, far off (over 5 %) without a flag; rows of confidence 0.99 and above, of these wrong",
    "rms of error ÷ standard error: area, N, symmetry factor",
)


def line_of(
    name: str,
    ours: Sequence[judging.Case],
    single: Sequence[judging.Case],
    after: Sequence[judging.Case],
) -> str:
    """Return one line of the table."""
    found, *others = (judging.summarise(list(cases)) for cases in (ours, single, after))
    errors = [
        " /".join(_percent(one.percentiles.get(metric)) for one in (found, *others)) for metric in SHOWN
    ]
    silent = f"{found.lost:4d} {found.misnamed_silent + found.invented_silent:4d} {found.far5_silent:4d}"
    sure = f"{found.sure:5d} {found.sure_wrong:3d}"
    honest = " ".join(f"{found.honesty[m][3]:5.2f}" if m in found.honesty else "    -" for m in SHOWN)
    return f"{name:27s}" + "  ".join(errors) + f"  {silent}  {sure}  {honest}"


def _percent(pair: tuple[float, float] | None) -> str:
    """Return a 95th percentile in per cent."""
    return "     -" if pair is None else f"{100.0 * pair[1]:6.2f}"


def main() -> None:
    """Print the table."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--seed", type=int, default=SEED)
    parser.add_argument("--injections", type=int, default=INJECTIONS)
    parser.add_argument("--situations", action="store_true", help="a line for every situation")
    told = parser.parse_args()
    rows = {name: (name,) for name in SITUATIONS} if told.situations else CONDITIONS
    print("\n".join(HEAD))
    all_cases: list[list[judging.Case]] = [[], [], []]
    for name, situations in rows.items():
        three = [
            [case for one in situations for case in judge(one, told.seed, told.injections)]
            for judge in (judged, plainly_judged, globally_judged)
        ]
        print(line_of(name, *three), flush=True)
        for so_far, cases in zip(all_cases, three, strict=True):
            so_far += cases
    print(line_of("all", *all_cases))


if __name__ == "__main__":
    np.seterr(all="ignore")
    main()
