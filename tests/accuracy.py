"""How true the measured values are on simulated studies: prints the table and writes it for the method page.

Run as `python -m tests.accuracy`. In: seeds. Out: the table on the terminal, and
`builder/lyewitness/peaks/accuracy.json`. Exit code 1 where a limit is not kept.
"""

import json
import sys
from collections.abc import Iterable, Sequence
from dataclasses import asdict, dataclass, replace
from pathlib import Path

import numpy as np

from lyewitness.peaks import method_notes as shipped
from lyewitness.peaks.method_notes import Accuracy, MetricAccuracy
from lyewitness.peaks.records import PeakRow
from lyewitness.rehearsal.records import Scenario, TruePeak
from lyewitness.rehearsal.scenario import (
    three_kinds_scenario,
    with_absent_peaks,
    with_marker_swap,
)
from lyewitness.words.arrays import FloatArray
from tests.peaks.rehearsed import rehearse

SEEDS = (1, 2, 3)
LIMITS = {
    "retention_time_min": ("retention time", "retention_time_min", 0.02),
    "peak_area": ("peak area", "area", 0.5),
    "plate_number_half_height": ("plate number (half height)", "plate_number_half_height", 2.0),
    "plate_number_tangent": ("plate number (tangents)", "plate_number_tangent", 2.0),
    "plate_number_moments": ("plate number (moments)", "plate_number_moments", 2.0),
    "plate_number_emg": ("plate number (Foley and Dorsey)", "plate_number_emg", 2.0),
    "symmetry_factor": ("symmetry factor", "symmetry_factor", 1.5),
}
"""By field of a row: words, field of the truth, largest median error in %."""
LEAST_SIGNAL_TO_NOISE = 50.0
LEAST_POINTS = 20.0
NAMED_PERCENT = 99.9
NOISIEST = 100.0
"""Up to this signal-to-noise ratio a peak counts among the noisiest."""
NOISES_MAU = (0.02, 0.15, 0.3)
"""White noise of a quiet, a usual and a noisy detector; peaks are some 20 … 80 mAU high."""


@dataclass(frozen=True, slots=True)
class Pair:
    """One peak as it is and as it was measured."""

    true: TruePeak
    row: PeakRow
    points: float
    """Samples across half height."""


def scenarios() -> list[Scenario]:
    """Return the studies: a full decline, a marker swap, absent markers, each with three detectors."""
    result = []
    for noise in NOISES_MAU:
        full = three_kinds_scenario()
        detector = replace(
            full.detector, white_noise_mAU=noise, flicker_noise_mAU=noise / 2.0, drift_mAU=40.0 * noise
        )
        full = replace(full, detector=detector)
        result += [full, with_marker_swap(full), with_absent_peaks(full, turns=(2, 5, 6, 11, 16, 20))]
    return result


def pairs_of(scenario: Scenario, seed: int) -> list[Pair]:
    """Return every peak of one simulated study beside its row."""
    per_min = 60.0 / scenario.detector.interval_s
    study = rehearse(scenario, seed)
    return [Pair(true, row, true.width_half_min * per_min) for true, row in study.pairs()]


def is_clear(pair: Pair) -> bool:
    """Tell whether a peak meets the conditions of the accuracy limits."""
    row = pair.row
    loud = row.signal_to_noise is not None and row.signal_to_noise >= LEAST_SIGNAL_TO_NOISE
    alone = not {"merged", "split", "saturated"} & set(row.flags) and not pair.true.split
    return pair.true.present and row.found and row.used and loud and alone and pair.points >= LEAST_POINTS


def is_misnamed(pair: Pair) -> bool:
    """Tell whether a found peak stands farther than half its width from where the marker is."""
    measured = pair.row.retention_time_min
    off = measured is None or abs(measured - pair.true.retention_time_min) > 0.5 * pair.true.width_half_min
    return pair.true.present and pair.row.found and off


def metric_accuracy(metric: str, pairs: Iterable[Pair]) -> MetricAccuracy:
    """Return median error and bias of one metric over clear peaks; a missing value counts as 100 % off."""
    words, truth, limit = LIMITS[metric]
    errors = []
    for pair in pairs:
        value = getattr(pair.row, metric)
        errors.append(-100.0 if value is None else 100.0 * (value / getattr(pair.true, truth) - 1.0))
    error: FloatArray = np.array(errors)
    return MetricAccuracy(
        metric=metric,
        words=words,
        peaks=len(error),
        median_error_percent=round(float(np.median(np.abs(error))), 4),
        bias_percent=round(float(np.median(error)), 4),
        worst_in_twenty_percent=round(float(np.quantile(np.abs(error), 0.95)), 4),
        limit_percent=limit,
    )


def accuracy_of(pairs: Sequence[Pair], studies: int, seeds: Sequence[int]) -> Accuracy:
    """Return the whole table over used injections."""
    used = [pair for pair in pairs if pair.row.used]
    clear = [pair for pair in used if is_clear(pair)]
    noisy = [pair for pair in clear if (pair.row.signal_to_noise or 0.0) < NOISIEST]
    present = [pair for pair in used if pair.true.present]
    absent = [pair for pair in used if not pair.true.present]
    return Accuracy(
        metrics=tuple(metric_accuracy(metric, clear) for metric in LIMITS),
        noisiest=tuple(metric_accuracy(metric, noisy) for metric in LIMITS) if noisy else (),
        conditions=(
            f"peaks that stand alone, with a signal-to-noise ratio of {LEAST_SIGNAL_TO_NOISE:g} or more and "
            f"{LEAST_POINTS:g} samples or more across half height"
        ),
        studies=(
            f"{studies} simulated studies: a full decline, the same with two markers changing places, and "
            f"with markers left out, each with three noises on a drifting baseline; "
            f"seeds {', '.join(str(seed) for seed in seeds)}"
        ),
        peaks_present=len(present),
        peaks_lost=sum(not pair.row.found for pair in present),
        peaks_misnamed=sum(is_misnamed(pair) for pair in present),
        markers_absent=len(absent),
        peaks_invented=sum(pair.row.found for pair in absent),
    )


def measured_accuracy(seeds: Sequence[int] = SEEDS) -> Accuracy:
    """Return the table of all scenarios with these seeds."""
    pairs: list[Pair] = []
    plans = scenarios()
    for scenario in plans:
        for seed in seeds:
            pairs += pairs_of(scenario, seed)
    return accuracy_of(pairs, len(plans) * len(seeds), seeds)


def keeps_limits(table: Accuracy) -> bool:
    """Return whether every limit is kept."""
    named = table.named_percent >= NAMED_PERCENT and table.peaks_invented == 0
    return named and all(metric.is_within for metric in (*table.metrics, *table.noisiest))


def as_text(table: Accuracy) -> str:
    """Return the table as it is printed."""
    lines = [table.studies, table.conditions, "", *_metric_lines(table.metrics)]
    lines += ["", f"of these, signal-to-noise ratio below {NOISIEST:g}:", *_metric_lines(table.noisiest), ""]
    lines += [
        f"present {table.peaks_present}, lost {table.peaks_lost}, misnamed {table.peaks_misnamed}: "
        f"{table.named_percent:.3f} % found and rightly named",
        f"absent {table.markers_absent}, invented {table.peaks_invented}",
    ]
    return "\n".join(lines)


def _metric_lines(metrics: Iterable[MetricAccuracy]) -> list[str]:
    """Return one line for each metric under a header."""
    return [f"{'metric':<34}{'peaks':>7}{'median':>9}{'bias':>9}{'19 of 20':>10}{'limit':>8}"] + [
        f"{m.words:<34}{m.peaks:>7}{m.median_error_percent:>8.3f}%{m.bias_percent:>+8.3f}%"
        f"{m.worst_in_twenty_percent:>9.3f}%{m.limit_percent:>7g}%  {'kept' if m.is_within else 'NOT KEPT'}"
        for m in metrics
    ]


def main() -> int:
    """Print the table, write it beside the program, and return 0 where every limit is kept."""
    table = measured_accuracy()
    print(as_text(table))
    target = Path(shipped.__file__).with_name("accuracy.json")
    target.write_text(json.dumps(asdict(table), indent=1, ensure_ascii=False) + "\n", encoding="utf-8")
    return 0 if keeps_limits(table) else 1


if __name__ == "__main__":
    sys.exit(main())
