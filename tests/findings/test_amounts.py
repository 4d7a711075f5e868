"""Too much of a sample, and a vial without one of the markers, are told as what they are."""

from collections.abc import Callable
from dataclasses import replace

from lyewitness.findings.beside import Beside
from lyewitness.findings.doubts import _volume, doubtful_injections
from lyewitness.peaks.records import PeakOutline, PeakRow
from tests.findings.making import evidence_of

ODD = "H2-08"
FAIR = evidence_of({"silica": (45.0, 60.0), "hybrid": (90.0, 300.0)})
Change = Callable[[PeakRow], PeakRow]


def found(change: Change, *strangers: PeakOutline, name: str = ODD) -> list[tuple[str, str, str]]:
    """Return injection, kind and words of what is found where one injection is changed."""
    evidence = evidence_of({"silica": (45.0, 60.0), "hybrid": (90.0, 300.0)})
    rows = [replace(row, width_half_min=0.05) for row in evidence.measurements.rows]
    told = tuple(change(row) if row.injection == name else row for row in rows)
    measurements = replace(evidence.measurements, rows=told, unassigned={name: strangers})
    doubtful = doubtful_injections(evidence.study, evidence.traces, measurements)
    return [(one.injection, one.kind, one.why) for one in doubtful]


def _amount(areas: float, plates: float, times: float = 1.0) -> Change:
    def change(row: PeakRow) -> PeakRow:
        return replace(
            row,
            peak_area=areas * (row.peak_area or 0.0),
            plate_number_half_height=plates * (row.plate_number_half_height or 0.0),
            retention_time_min=times * (row.retention_time_min or 0.0),
        )

    return change


def _gone(*markers: str) -> Change:
    def change(row: PeakRow) -> PeakRow:
        return _lacking(row) if row.marker in markers else row

    return change


def _lacking(row: PeakRow) -> PeakRow:
    return replace(
        row, found=False, retention_time_min=None, retention_factor=None, plate_number_half_height=None,
        symmetry_factor=None, peak_area=None, peak_height=None, width_half_min=None, signal_to_noise=None,
    )  # fmt: skip


def test_broad_peaks_of_many_times_the_area_are_an_overload() -> None:
    """What is many times the amount comes early and broad, and is no leak; undistorted it is a volume."""
    ((name, kind, why),) = found(_amount(7.0, 0.2, times=0.96))
    assert (name, kind) == (ODD, "overload")
    assert "all areas are 7.0 times those of the neighbours, and the plate numbers 0.20 times" in why
    assert [kind for _, kind, _ in found(_amount(7.0, 1.0))] == ["volume"]
    assert [kind for _, kind, _ in found(_amount(1.0, 1.0, times=0.96))] == ["leak"]


def test_one_peak_that_was_cut_wrongly_does_not_hide_a_volume() -> None:
    """Of four markers three that say the same are enough, of three they must all."""
    names = ("uracil", "caffeine", "aniline", "toluene")

    def seen(*areas: float) -> Beside:
        """Return an injection of which the markers have so many times their usual areas."""
        rows = [
            {n: replace(_row(n, hours), peak_area=10.0 * by) for n, by in zip(names, own, strict=False)}
            for hours, own in [(50.0, areas), *((h, (1.0,) * len(areas)) for h in (20.0, 40.0, 60.0, 80.0))]
        ]
        trace = next(iter(FAIR.traces.values()))
        return Beside(FAIR.study.injections[0], rows[0], tuple(rows[1:]), (), ((),) * 4, trace, (), "uracil")

    told = _volume(seen(2.1, 1.0, 2.1, 2.1))
    assert told is not None
    assert told[1] == "the areas of uracil, aniline and toluene are 2.1 times those of the neighbours"
    assert _volume(seen(2.1, 1.0, 2.1)) is None
    assert _volume(seen(1.0, 1.0, 2.1, 2.1)) is None


def _row(marker: str, hours: float) -> PeakRow:
    return replace(FAIR.measurements.rows[0], marker=marker, exposure_h=hours, found=True)


def test_a_vial_without_one_marker_is_told() -> None:
    """A marker missing in one injection alone, the others as usual, is told of that injection."""
    ((name, kind, why),) = found(_gone("aniline"))
    assert (name, kind) == (ODD, "missing marker")
    assert why.startswith("aniline is missing, which the injections before and after show, and uracil and")


def test_what_may_hide_or_has_faded_is_not_missing() -> None:
    """A peak without a name at its place, one below another peak, and the last of a course accuse nobody."""
    at = 3.0
    unnamed = PeakOutline(at - 0.2, at + 0.2, 0.0, 0.0, at, 4.0, at - 0.025, at + 0.025, 15.0)
    assert not found(_gone("aniline"), unnamed)

    def beneath(row: PeakRow) -> PeakRow:
        return replace(row, retention_time_min=2.97) if row.marker == "caffeine" else _gone("aniline")(row)

    assert not [kind for _, kind, _ in found(beneath) if kind == "missing marker"]
    assert not found(_gone("aniline"), name="H2-13")


def test_an_acquisition_that_began_late_is_no_shift_of_retention() -> None:
    """All peaks early by the same time are told as that, and by one factor as a leak."""

    def earlier(row: PeakRow) -> PeakRow:
        return replace(row, retention_time_min=(row.retention_time_min or 0.0) - 0.1)

    ((name, kind, why),) = found(earlier)
    assert (name, kind) == (ODD, "shifted start")
    assert why.startswith("all peaks are 0.10 min earlier, by the same time: the acquisition began late")
