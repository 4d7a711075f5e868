"""The stage against chromatograms drawn from the physics of detectors, by `trace_truths`."""

import numpy as np
import pytest
from trace_truths import judging

from tests.peaks.conditions import globally_judged, judged, plainly_judged

FLAT = ("clean", "white", "shot", "counts0p1", "sn20", "sn10", "sn5")
HUMPS = ("hump25", "hump50", "wave8")
FAULTS = ("clip15", "clip15_round", "spikes", "missing", "uneven", "sparse8", "end_before", "leak", "meet0p8")


@pytest.mark.parametrize("situation", [*FLAT, *HUMPS, *FAULTS])
def test_nothing_is_lost_or_misplaced_without_a_flag(situation: str) -> None:
    """Every marker on the trace is found; what stands elsewhere or is 10 % off bears a flag."""
    found = judging.summarise(list(judged(situation)))
    assert found.lost == 0
    assert found.misnamed_silent == 0
    assert found.invented_silent == 0
    assert found.far10_silent == 0


@pytest.mark.parametrize("situation", ["hump50", "wave8", "clip15", "sn10", "sn5"])
def test_no_worse_than_a_plain_local_fit(situation: str) -> None:
    """Nineteen of twenty errors of area and plate number stay within those of single fits, by chance."""
    ours, beside = (
        judging.summarise(list(cases)) for cases in (judged(situation), plainly_judged(situation))
    )
    for metric in ("peak_area", "plate_number_half_height"):
        # Of eighteen errors the largest but one scatters by a quarter.
        assert ours.percentiles[metric][1] < 1.25 * beside.percentiles[metric][1], metric


@pytest.mark.parametrize("situation", ["hump25", "hump50", "wave8", "lens35", "sn10"])
def test_no_worse_than_after_a_global_baseline(situation: str) -> None:
    """Nor is it worse than the same fits after a baseline of the whole trace by pybaselines."""
    ours, beside = (
        judging.summarise(list(cases)) for cases in (judged(situation), globally_judged(situation))
    )
    for metric in ("peak_area", "plate_number_half_height"):
        assert ours.percentiles[metric][1] < 1.25 * beside.percentiles[metric][1], metric


def test_confidence_means_what_it_says() -> None:
    """Of rows at 0.99 and above at most 1 % are misnamed or off by more than 5 % in plate number or area."""
    cases = [case for situation in (*FLAT, *HUMPS, *FAULTS) for case in judged(situation)]
    found = judging.summarise(cases)
    assert found.sure > 150
    assert found.sure_wrong <= 0.01 * found.sure


def test_standard_errors_are_honest_on_flat_baselines() -> None:
    """Two thirds of the errors of plates and area are within one standard error, nine tenths within two."""
    for metric in ("peak_area", "plate_number_half_height"):
        ratios = [
            case.se_ratio[metric]
            for situation in ("white", "shot", "sn20", "sn10", "sn5")
            for case in judged(situation)
            if metric in case.se_ratio
        ]
        assert float(np.mean(np.abs(ratios) < 1.0)) > 0.6
        assert float(np.mean(np.abs(ratios) < 2.0)) > 0.9
        assert 0.6 < float(np.sqrt(np.mean(np.square(ratios)))) < 1.2
