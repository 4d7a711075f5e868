"""Injections that fit another place better: what is zero tells nothing of scatter."""

from collections.abc import Mapping
from math import exp

import numpy as np

from lyewitness.findings.displaced import Doubt, interchanged_alike, shifts_of
from lyewitness.peaks.records import PeakRow
from lyewitness.study.records import Injection
from tests.findings.making import evidence_of, found_in

PACES = {"S1": 0.0004, "S2": 0.0006, "S3": 0.0008}
"""Loss of retention an hour: columns of one type agree within 2 % for a day."""


def _alike(seed: int, swapped: tuple[str, str] | None, scatter: float = 0.0015) -> Mapping[str, Doubt]:
    """Return what is found among three columns of one type, of which two may have been interchanged once."""
    rng = np.random.default_rng(seed)
    used: dict[str, list[Injection]] = {}
    rows: dict[str, dict[str, PeakRow]] = {}
    for column, pace in PACES.items():
        for place in range(16):
            name, hours = f"{column}-{place:02d}", 10.0 * place
            used.setdefault(column, []).append(Injection(name, f"{name}.csv", column, exposure_h=hours))
            own = exp(-pace * hours)
            rows[name] = {
                marker: PeakRow(
                    name, column, "silica", marker, hours, hours * 50, True, True,
                    retention_factor=k * own * (1 + scatter * rng.standard_normal()),
                )
                for marker, k in (("toluene", 3.0), ("xylene", 5.0), ("amine", 4.0))
            }  # fmt: skip
    if swapped:
        first, second = swapped
        rows[first], rows[second] = rows[second], rows[first]
    shifts = {column: shifts_of(own, rows) for column, own in used.items()}
    return interchanged_alike(used, rows, shifts, dict.fromkeys(PACES, "silica"))


def test_vials_interchanged_between_columns_of_one_type_are_suspected() -> None:
    """Two injections of a round that fit each other's course are a pair, by a per cent of retention."""
    found = [_alike(seed, ("S1-07", "S3-07")) for seed in range(20)]
    assert sum(set(one) == {"S1-07", "S3-07"} for one in found) > 15
    (doubt,) = [one["S1-07"] for one in found[:1]]
    assert doubt[0] == "other column"
    assert doubt[2:] == ("S3-07",)
    assert "fits the course of S3" in doubt[1]


def test_sound_columns_of_one_type_are_not_accused() -> None:
    """Of two hundred studies in which nothing was interchanged one at most has a pair."""
    assert sum(bool(_alike(seed, None)) for seed in range(200)) <= 1


def test_a_column_without_any_plates_left_is_judged() -> None:
    """Plates that reach zero have no logarithm; they are left aside, and the column is told as failed."""
    found = found_in(evidence_of({"silica": (0.02, 0.03), "hybrid": (50.0, 60.0)}))
    assert any("Both failed before" in claim.text for claim in found.answers[0].claims)


def test_columns_past_their_limit_when_first_looked_at_have_failed_by_it() -> None:
    """Of lives that end before the first injection after the start none has `failed by another limit`."""
    found = found_in(evidence_of({"silica": (0.02, 0.03), "hybrid": (50.0, 60.0)}))
    (silica,) = (one for one in found.answers[0].advice if one.group == "silica")
    assert silica.tested == "two, both failed"
