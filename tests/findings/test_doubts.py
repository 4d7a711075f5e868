"""Injections that should perhaps not count are found by kind, told with their line, and never called good."""

from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from lyewitness.findings import doubts
from lyewitness.findings.doubts import doubtful_injections
from lyewitness.findings.records import Report
from lyewitness.peaks.records import PeakOutline
from lyewitness.pipeline import compute
from lyewitness.store import Store
from tests.chemists_study import BAD, Truth, write
from tests.findings.making import evidence_of

EXCHANGED = {("A2-04", "A2-16"): "out of order", ("A1-13", "P2-13"): "other column"}
"""Files that hold each other's traces, and what that is to be called."""
ALL = {**BAD, **{name: kind for pair, kind in EXCHANGED.items() for name in pair}}


@pytest.fixture(scope="module")
def ran(tmp_path_factory: pytest.TempPathFactory) -> tuple[Report, Truth, Path]:
    """Return the report of a study as it really ran, its truth, and its folder."""
    folder = tmp_path_factory.mktemp("ran") / "study"
    truth = write(folder, seed=11)
    for pair in EXCHANGED:
        first, second = (folder / "chromatograms" / f"{name}.csv" for name in pair)
        one, other = first.read_text(), second.read_text()
        first.write_text(one.partition("\n")[0] + "\n" + other.partition("\n")[2])
        second.write_text(other.partition("\n")[0] + "\n" + one.partition("\n")[2])
    return compute(folder), truth, folder


def test_bad_injections_are_found_by_kind_and_no_good_one(ran: tuple[Report, Truth, Path]) -> None:
    """Leak, wrong vial, spike, short trace, no injection, blank, stranger, air, files exchanged twice."""
    found = {one.injection: one.kind for one in ran[0].findings.doubtful}
    assert found == ALL


def test_one_injection_more_is_looked_at_with_the_last_ones_alone(
    ran: tuple[Report, Truth, Path], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Doubts about injections whose neighbours are as they were come from the store, and are the same."""
    monkeypatch.setattr(doubts, "TOGETHER", 4)
    report, store, looked = ran[0], Store(tmp_path), list[int]()
    last = max((one for one in report.study.injections if one.used), key=lambda one: one.exposure_h or 0.0)
    fewer = replace(report.study, injections=tuple(i for i in report.study.injections if i is not last))
    doubtful_injections(fewer, report.traces, report.measurements, store)

    def told(place: int, used: Sequence[Any], *further: Any) -> Any:
        looked.append(place)
        return beside(place, used, *further)

    beside = doubts._beside
    monkeypatch.setattr(doubts, "_beside", told)
    again = doubtful_injections(report.study, report.traces, report.measurements, store)
    assert 0 < len(looked) < sum(one.column == last.column for one in report.study.injections) - 4
    assert again == doubtful_injections(report.study, report.traces, report.measurements)


def test_the_exposure_leaves_out_the_power_cut(ran: tuple[Report, Truth, Path]) -> None:
    """Exposures by the clock are those of the truth, to the minutes that an injection takes."""
    report, truth, _ = ran
    for injection in report.study.injections:
        assert injection.exposure_h == pytest.approx(truth.exposure_h[injection.id], abs=0.1)


@pytest.mark.slow
def test_each_line_can_be_put_in_its_place(ran: tuple[Report, Truth, Path]) -> None:
    """With all lines put in, nothing is doubtful any more, and the lives are those that were foretold."""
    report, _, folder = ran
    table = folder / "injections.csv"
    before = table.read_text()
    rows = before.split("\n")
    for one in report.findings.doubtful:
        place = next(number for number, row in enumerate(rows) if row.startswith(f"{one.injection},"))
        rows[place] = one.line
    table.write_text("\n".join(rows))
    try:
        mended = compute(folder)
    finally:
        table.write_text(before)
    assert mended.findings.doubtful == ()
    assert sum(not injection.used for injection in mended.study.injections) == len(ALL)
    check = next(check for check in report.findings.checks if check.id == "doubtful-left-out")
    assert check.result in ("good", "problem")
    assert "without twelve doubtful injections" in check.detail
    lives = {claim.text for claim in report.findings.answers[0].claims if "doubtful" in claim.text}
    assert len(lives) >= 3


def test_two_that_changed_places_can_be_put_back(ran: tuple[Report, Truth, Path]) -> None:
    """With the rows that exchange their files put in, neither is doubtful and both count."""
    report, _, folder = ran
    table = folder / "injections.csv"
    before = table.read_text()
    rows = before.split("\n")
    pairs = {name: pair for pair in EXCHANGED for name in pair}
    offered = {one.injection: one.exchange for one in report.findings.doubtful if one.exchange}
    assert set(offered) == set(pairs)
    for lines in offered.values():
        for line in lines:
            place = next(n for n, row in enumerate(rows) if row.split(",")[0] == line.split(",")[0])
            rows[place] = line
    table.write_text("\n".join(rows))
    try:
        mended = compute(folder)
    finally:
        table.write_text(before)
    assert {one.injection for one in mended.findings.doubtful} == set(ALL) - set(pairs)
    assert all(one.used for one in mended.study.injections if one.id in pairs)


def test_the_audit_never_calls_them_good(ran: tuple[Report, Truth, Path]) -> None:
    """The check of doubtful injections is a caution that names each."""
    check = next(check for check in ran[0].findings.checks if check.id == "doubtful-injections")
    assert check.result == "caution"
    assert "A1-06 (suspected leak: all peaks are 7" in check.detail
    assert sum("differs from its neighbours" in problem.found for problem in ran[0].problems) == len(ALL)


def test_each_is_drawn_below_one_that_nobody_doubts(ran: tuple[Report, Truth, Path]) -> None:
    """`check` shows a doubtful injection, and above it a sound one of the same column, on common axes."""
    report, _, _ = ran
    doubtful = {one.injection for one in report.findings.doubtful}
    drawn = [problem.drawing for problem in report.problems if problem.drawing]
    assert len(drawn) == len(doubtful)
    column_of = {injection.id: injection.column for injection in report.study.injections}
    for lines in drawn:
        near, own = (line.split()[0] for line in lines[:2])
        assert near not in doubtful
        assert own in doubtful
        assert column_of[near] == column_of[own]
        assert lines[0] != lines[1]


def test_a_peak_that_was_cut_in_two_is_no_foreign_one() -> None:
    """What stands in a marker's peak and has what that lacks of its area is the marker's own."""
    evidence = evidence_of({"silica": (45.0, 60.0), "hybrid": (90.0, 300.0)})

    def kinds(left: float) -> list[str]:
        """Return what is found where the marker's curve has this share of it, and the rest no name."""
        rows = []
        for row in evidence.measurements.rows:
            is_cut = row.injection == "H2-08" and row.marker == "caffeine"
            area = (row.peak_area or 0.0) * (left if is_cut else 1.0)
            rows.append(replace(row, peak_area=area, width_half_min=0.094))
        at = next(row.retention_time_min or 0.0 for row in rows if row.marker == "caffeine") - 0.05
        rest = PeakOutline(at - 0.2, at + 0.2, 0.0, 0.0, at, 30.0, at - 0.047, at + 0.047, 15.0)
        told = replace(evidence.measurements, rows=tuple(rows), unassigned={"H2-08": (rest,)})
        return [one.kind for one in doubtful_injections(evidence.study, evidence.traces, told)]

    assert kinds(0.7) == []
    assert kinds(1.0) == ["foreign peak"]


def test_a_peak_that_the_signal_does_not_show_accuses_nobody() -> None:
    """A curve that was laid beside a distorted peak is no foreign one where the trace stays flat."""
    evidence = evidence_of({"silica": (45.0, 60.0), "hybrid": (90.0, 300.0)})
    laid = PeakOutline(1.1, 1.5, 0.0, 0.0, 1.3, 60.0, 1.25, 1.35, 30.0)

    def kinds(height: float) -> list[str]:
        """Return what is found where the trace rises so high under the curve."""
        time = np.arange(0.0, 4.0, 0.01)
        signal = height * np.exp(-0.5 * ((time - 1.3) / 0.042) ** 2)
        traces = {n: replace(t, time_min=time, signal=0.0 * time) for n, t in evidence.traces.items()}
        traces["H2-08"] = replace(traces["H2-08"], signal=signal)
        told = replace(evidence.measurements, unassigned={"H2-08": (laid,)})
        return [one.kind for one in doubtful_injections(evidence.study, traces, told)]

    assert kinds(0.0) == []
    assert kinds(60.0) == ["foreign peak"]
