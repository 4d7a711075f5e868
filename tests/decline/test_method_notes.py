"""What the method page says, and the calibration behind it."""

import json
from pathlib import Path

import pytest

from lyewitness.decline.method_notes import (
    CALIBRATION,
    method_notes,
    shipped_calibration,
    shortfalls,
    simulated,
)
from lyewitness.study.records import Choices
from tests.calibration import REHEARSED, Share, calibrate, calibrate_rehearsed, far_off, main, write
from tests.decline.simulated_series import delayed
from tests.decline.simulated_studies import KINDS, Kind
from tests.law_calibration import LAWS


def test_every_choice_that_is_made_is_said() -> None:
    """The notes name the study's own reference, confidence, margin and limit of extrapolation."""
    choices = Choices(
        reference_injections=4, confidence=0.9, equivalence_margin_percent=15.0, extrapolate_to_h=300.0
    )
    text = " ".join(body for _, body in method_notes(choices))
    for said in ("first 4 used injections", "90 %", "margin of 15 %", "up to 300 h"):
        assert said in text
    assert "Nothing is extrapolated" in dict(method_notes(Choices()))["Life to a limit"]


def test_shipped_calibration_covers_every_kind() -> None:
    """The shipped results hold every kind, 100 studies or more each, and are read as they were written."""
    data = json.loads(CALIBRATION.read_text(encoding="utf-8"))
    assert data["studies"] >= 100
    assert [kind["kind"] for kind in data["kinds"]] == [*(kind.name for kind in KINDS), REHEARSED]
    shipped = shipped_calibration()
    assert shipped.studies == data["studies"]
    for kind, read in zip(data["kinds"], shipped.kinds, strict=True):
        share = kind["shares"]["life"]
        assert read.percent("life") == 100 * share["held"] / share["of"]
        assert read.percent("a statement never made") is None
    assert {row.law for row in shipped.laws} == set(LAWS)
    assert sum(row.series for row in shipped.laws) > 5_000
    assert "Laws that were not fitted" in dict(method_notes(Choices()))


def test_what_falls_short_is_said(tmp_path: Path) -> None:
    """Intervals that hold too seldom, false findings and lack of power are each told once, with the kinds."""
    poor = {
        "life": Share(80, 100),
        "group life": Share(95, 100),
        "ratio of lives": Share(99, 100),
        "said to differ": Share(30, 100),
    }
    write({"different": poor}, 100, 1, tmp_path / "poor.json")
    (kind,) = json.loads((tmp_path / "poor.json").read_text(encoding="utf-8"))["kinds"]
    assert shortfalls([kind, {**kind, "kind": "another"}]) == [
        "intervals of the life, too narrow: different 80.0 %, another 80.0 %",
        "intervals of the ratio of lives, wider than need be: different 99.0 %, another 99.0 %",
        "equal types said to differ: different 30.0 %, another 30.0 %",
    ]
    ((_, text),) = simulated(tmp_path / "poor.json")
    assert "Where it falls short: intervals of the life, too narrow: different 80.0 %; " in text
    powerless = {**poor, "said to differ by the all-knowing": Share(60, 100)}
    assert any("power" in line for line in far_off(KINDS[0], powerless))


def test_without_results_nothing_is_claimed(tmp_path: Path) -> None:
    """A copy without the results says so."""
    ((_, text),) = simulated(tmp_path / "none.json")
    assert "not shipped" in text


def test_wilson_interval_of_a_share() -> None:
    """Wilson's interval of 15 in 20: 0.531 to 0.888 (statsmodels' proportion_confint)."""
    assert Share(15, 20).within() == pytest.approx((0.5313, 0.8881), abs=2e-4)


@pytest.mark.usefixtures("lives_alone")
def test_a_few_studies_run_through() -> None:
    """The calibration runs from simulation to shares, and the same seed gives the same ones."""
    kind = Kind("a few", ((delayed, 40.0), (delayed, 80.0)))
    one, two = calibrate(kind, 12, 3), calibrate(kind, 12, 3)
    assert {what: share.held for what, share in one.items()} == {
        what: share.held for what, share in two.items()
    }
    assert one["life"].of == 72
    assert one["life"].held >= 62
    assert one["said to differ"].held >= 8
    assert one["said to differ the wrong way"].held == 0


@pytest.mark.usefixtures("lives_alone")
def test_rehearsed_columns_hold_their_lives() -> None:
    """Lives of columns from the rehearsal's own generator are held by nine in ten intervals or more."""
    shares = calibrate_rehearsed(6, 11)
    assert shares["life"].of > 60
    assert shares["life"].value >= 0.9


@pytest.mark.slow
def test_short_calibration_finds_nothing_far_off() -> None:
    """The short form runs through every kind, writes nothing, and finds no number surely wrong.

    Of the 120 lives of 20 studies, 88 % held instead of 95 are surely too few (Wilson's interval); of the 360
    that the command makes by itself, 90 %.
    """
    before, said = CALIBRATION.read_bytes(), list[str]()
    assert main(["--short", "--studies", "20"], said.append) == 0
    assert len(said) == len(KINDS) + 1
    assert CALIBRATION.read_bytes() == before
