"""An injection that stands far off those right before and after it is proposed, and no sound one is."""

from collections.abc import Callable, Mapping
from dataclasses import replace

import numpy as np
import pytest

from lyewitness.decline.records import Judgement
from lyewitness.findings.audit.injections import doubtful
from lyewitness.findings.displaced import Doubt
from lyewitness.findings.lone_injections import alone
from lyewitness.peaks.records import PeakRow
from tests.findings.making import check_of, evidence_of, found_in, judged

FALLING = {"silica": (45.0, 60.0), "hybrid": (90.0, 300.0)}
ODD = "H2-08"
Change = Callable[[PeakRow], PeakRow]


def _with(change: Change, name: str = ODD) -> Mapping[str, Doubt]:
    """Return what is found on the column of one changed injection."""
    evidence = evidence_of(FALLING)
    rows: dict[str, dict[str, PeakRow]] = {}
    for row in evidence.measurements.rows:
        rows.setdefault(row.injection, {})[row.marker] = change(row) if row.injection == name else row
    return alone([one for one in evidence.study.injections if one.column == name[:2]], rows)


def _plates(share: float, *markers: str) -> Change:
    def change(row: PeakRow) -> PeakRow:
        own = row.plate_number_half_height or 0.0
        return replace(row, plate_number_half_height=own * share) if row.marker in markers else row

    return change


def _retained(share: float, *markers: str) -> Change:
    def change(row: PeakRow) -> PeakRow:
        own = row.retention_factor
        return replace(row, retention_factor=own * share) if own and row.marker in markers else row

    return change


@pytest.mark.parametrize("marker", ["uracil", "caffeine"])
def test_plates_of_one_marker_far_off_are_enough(marker: str) -> None:
    """A loose connection broadens the hold-up peak first, and that marker counts as any other."""
    (found,) = _with(_plates(0.3, marker)).items()
    assert found == (ODD, ("peak shape", found[1][1]))
    assert f"plate number (half height) of {marker} 0.30 times that right before and after" in found[1][1]


def test_less_is_enough_where_several_markers_show_it() -> None:
    """A tenth of the plates may be one peak's own, of two markers it is the injection's."""
    assert not _with(_plates(0.88, "caffeine"))
    assert list(_with(_plates(0.88, "caffeine", "aniline"))) == [ODD]


def test_less_is_enough_where_the_measuring_saw_a_disturbance() -> None:
    """A peak that no column makes so is told as that, by what it lost of its plates."""

    def change(row: PeakRow) -> PeakRow:
        return replace(_plates(0.9, "caffeine")(row), flags=("disturbed",))

    (found,) = _with(change).values()
    assert found[0] == "disturbed"
    assert "on the peak of caffeine: plate number" in found[1]


@pytest.mark.parametrize("flag", ["split", "merged", "uncertain"])
def test_what_the_measuring_did_not_settle_accuses_no_injection(flag: str) -> None:
    """Plates of a peak that was cut from another, or has two tops, may leap between injections."""
    assert not _with(lambda row: replace(_plates(0.3, "caffeine")(row), flags=(flag,)))


def test_all_retention_factors_together_are_an_oven_or_a_mobile_phase() -> None:
    """Of one marker alone it may be the bottle's pH; up and down in one injection it is something else."""
    (found,) = _with(_retained(1.123, "caffeine", "aniline")).values()
    assert found[1].startswith("all retention factors are 12\u2009% higher than right before and after")
    assert not _with(_retained(1.1, "aniline"))
    assert not _with(_retained(1.02, "caffeine", "aniline"))


@pytest.mark.parametrize(("share", "oven", "organic"), [(1.2, "cold", "less"), (0.85, "hot", "more")])
def test_an_oven_is_named_first_where_the_hold_up_time_stays(share: float, oven: str, organic: str) -> None:
    """All retained markers off one way by about one factor, plates changed as well: no fault of a peak."""

    def change(row: PeakRow) -> PeakRow:
        return _retained(share, "caffeine", "aniline")(_plates(0.85, "caffeine", "aniline")(row))

    (found,) = _with(change).values()
    assert found[0] == f"{oven} oven"
    assert f"unchanged hold-up time: a {oven} oven, or else a mobile phase with {organic} organic" in found[1]


def test_no_oven_is_named_where_the_flow_or_the_ph_may_be_it() -> None:
    """A hold-up time that moved, or was only stated, leaves the flow; one base far ahead leaves the pH."""

    def later(row: PeakRow) -> PeakRow:
        own = _retained(1.2, "caffeine", "aniline")(row)
        return replace(own, retention_time_min=0.53) if row.marker == "uracil" else own

    def without(row: PeakRow) -> PeakRow:
        own = _retained(1.2, "caffeine", "aniline")(row)
        return replace(own, found=False) if row.marker == "uracil" else own

    def base_ahead(row: PeakRow) -> PeakRow:
        return _retained(1.4, "aniline")(_retained(1.07, "caffeine")(row))

    for change in (later, without, base_ahead):
        assert [kind for kind, *_ in _with(change).values()] == ["retention"]


def test_what_stays_is_no_lone_injection() -> None:
    """A step from one injection on, and the last injection, may be the column."""
    assert not _with(_plates(0.3, "caffeine", "aniline"), "H2-13")
    evidence = evidence_of(FALLING)
    rows: dict[str, dict[str, PeakRow]] = {}
    for row in evidence.measurements.rows:
        after = row.injection >= ODD
        rows.setdefault(row.injection, {})[row.marker] = _plates(0.3, "caffeine")(row) if after else row
    assert not alone([one for one in evidence.study.injections if one.column == "H2"], rows)


def test_two_in_turn_do_not_hide_each_other() -> None:
    """Both are named and none beside them, whatever seems to stand in them; but not the last two."""
    evidence = evidence_of(FALLING)
    own = [one for one in evidence.study.injections if one.column == "H2"]
    names = [one.id for one in own]
    pair = names[names.index(ODD) :][:2]

    def found(changed: list[str], flags: tuple[str, ...] = ()) -> Mapping[str, Doubt]:
        rows: dict[str, dict[str, PeakRow]] = {}
        for row in evidence.measurements.rows:
            is_odd = row.injection in changed and row.marker == "caffeine"
            tailing = replace(row, symmetry_factor=2.5 * (row.symmetry_factor or 1.0), flags=flags)
            rows.setdefault(row.injection, {})[row.marker] = tailing if is_odd else row
        return alone(own, rows)

    assert list(found(pair)) == pair
    assert list(found(pair, ("stranger",))) == pair
    assert not found(pair, ("uncertain",))
    assert not found(names[-2:])


def test_sound_injections_are_not_accused() -> None:
    """Of columns that fall fast and slowly, and scatter by 3 % with long tails, one in a thousand is."""
    rng = np.random.default_rng(7)
    evidence = evidence_of(FALLING)
    accused = count = 0
    for _ in range(40):
        for column in ("S1", "H2"):
            rows: dict[str, dict[str, PeakRow]] = {}
            for row in evidence.measurements.rows:
                share = float(np.exp(0.03 * rng.standard_t(5)))
                rows.setdefault(row.injection, {})[row.marker] = _plates(share, row.marker)(row)
            sound = [one for one in evidence.study.injections if one.column == column]
            accused += len(alone(sound, rows))
            count += len(sound)
    assert count > 1000
    assert accused <= 1


def test_it_is_told_by_the_audit() -> None:
    """The injection is among the doubtful ones, with the line that leaves it out."""
    evidence = evidence_of(FALLING)
    rows = tuple(
        _plates(0.2, "uracil")(row) if row.injection == ODD else row for row in evidence.measurements.rows
    )
    findings = found_in(replace(evidence, measurements=replace(evidence.measurements, rows=rows)))
    assert [one.injection for one in findings.doubtful] == [ODD]
    assert "no,peak shape: plate number" in findings.doubtful[0].line.replace('"', "")
    check = check_of(findings, "doubtful-injections")
    assert check.result == "caution"
    assert ODD in check.detail


def test_none_resembles_its_neighbours_where_values_were_set_aside() -> None:
    """Where a single value is outlying, the audit names it and says of none that it resembles."""
    evidence = evidence_of(FALLING)
    (calm,) = doubtful(evidence)
    assert calm.check.detail == "Each resembles those before and after it."
    rows = tuple(
        _plates(0.9, "caffeine")(row) if row.injection == ODD else row for row in evidence.measurements.rows
    )
    again: Judgement = judged(evidence, measurements=replace(evidence.measurements, rows=rows)).judgement
    assert any(ODD in decline.outlying for decline in again.declines)
    (point,) = doubtful(replace(evidence, judgement=again))
    assert point.check.result == "good"
    assert f"{ODD} (plate number (half height) of caffeine)" in point.check.detail
    assert "resembles" not in point.check.detail
