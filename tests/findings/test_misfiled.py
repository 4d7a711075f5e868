"""A file of a column of another type is found by where its peaks stand, whatever they were called."""

import re
from collections.abc import Mapping, Sequence
from dataclasses import replace

import numpy as np
import pytest

from lyewitness.findings.displaced import Doubt
from lyewitness.findings.misfiled import misfiled, strays_of
from lyewitness.peaks.records import PeakRow
from lyewitness.study.records import Injection

HOLD_UP = {"carbon": 0.74, "polymer": 0.78, "silica": 0.74}
RETENTION = {
    "carbon": {"base": 3.00, "neutral": 4.10},
    "polymer": {"base": 3.60, "neutral": 2.60},
    "silica": {"base": 3.15, "neutral": 3.80},
}
GROUPS = {f"{kind[0].upper()}{number}": kind for kind in HOLD_UP for number in (1, 2)}
HEIGHTS = {"void": 250.0, "base": 180.0, "neutral": 220.0}
HOURS = tuple(5.0 * number for number in range(14))

Bench = tuple[dict[str, list[Injection]], dict[str, dict[str, PeakRow]]]


def bench(seed: int) -> Bench:
    """Return six columns, injections and rows: retention falls, bases swing with the bottle, days differ."""
    random = np.random.default_rng(seed)
    own = {column: 1 + 0.004 * random.standard_normal() for column in GROUPS}
    days = 0.004 * random.standard_normal(4)
    used: dict[str, list[Injection]] = {}
    rows: dict[str, dict[str, PeakRow]] = {}
    for column, kind in GROUPS.items():
        for number, hours in enumerate(HOURS, start=1):
            injection = Injection(
                id=f"{column}-{number:02d}",
                file=f"{column}-{number:02d}.csv",
                column=column,
                exposure_h=hours,
                place="injections.csv",
            )
            bottle = (hours % 36) / 36
            times = {"void": HOLD_UP[kind]}
            for marker, fresh in RETENTION[kind].items():
                k = (fresh / HOLD_UP[kind] - 1) * own[column] * (1 - 0.0008 * hours)
                k *= 1 + days[int(hours // 24)] + 0.002 * random.standard_normal()
                times[marker] = HOLD_UP[kind] * (1 + k * (1 - 0.05 * bottle * (marker == "base")))
            used.setdefault(column, []).append(injection)
            rows[injection.id] = {
                marker: PeakRow(
                    injection.id, column, kind, marker, hours, None, True, True,
                    retention_time_min=time, peak_height=HEIGHTS[marker],
                )
                for marker, time in times.items()
            }  # fmt: skip
    return used, rows


def found(of: Bench, ovens: Mapping[str, Mapping[str, Doubt]] | None = None) -> Mapping[str, Doubt]:
    """Return what is found on a bench."""
    used, rows = of
    odd = {column: strays_of(column, own, rows, {}) for column, own in used.items()}
    return misfiled(used, rows, {}, GROUPS, odd, ovens)


def peaks_of(rows: dict[str, dict[str, PeakRow]], to: str, source: str) -> dict[str, PeakRow]:
    """Return the rows of `to` with the peaks of `source`, named in the order in which `to` expects them."""
    taken = sorted(rows[source].values(), key=lambda row: row.retention_time_min or 0.0)
    names = sorted(rows[to], key=lambda marker: rows[to][marker].retention_time_min or 0.0)
    return {
        name: replace(
            rows[to][name],
            retention_time_min=peak.retention_time_min,
            peak_height=peak.peak_height,
        )
        for name, peak in zip(names, taken, strict=True)
    }


@pytest.mark.parametrize("number", [5, 9, 14])
def test_two_exchanged_files_name_each_other(number: int) -> None:
    """Both are told, each with its partner, in the middle of a study and at its end."""
    used, rows = bench(1)
    first, second = f"P1-{number:02d}", f"C2-{number:02d}"
    changed = {first: peaks_of(rows, first, second), second: peaks_of(rows, second, first)}
    told = found((used, rows | changed))
    assert set(told) == {first, second}
    assert told[first][0] == "other column"
    assert told[first][1].startswith(f"exchanged with {second}: its peaks at 0.740")
    assert told[second][1].startswith(f"exchanged with {first}: ")


def test_one_misfiled_alone_is_told_with_the_columns_that_it_fits() -> None:
    """Columns of one type are hardly told apart: both are named."""
    used, rows = bench(2)
    told = found((used, rows | {"S1-06": peaks_of(rows, "S1-06", "P2-06")}))
    assert set(told) == {"S1-06"}
    assert "of a polymer column (P" in told["S1-06"][1]


def test_a_file_from_another_time_of_another_column_is_told_as_that() -> None:
    """Peaks that fit another type's column as it was long before are of its file, not of a swapped vial."""
    used, rows = bench(2)
    changed = peaks_of(rows, "S1-14", "P2-01")
    told = found((used, rows | {"S1-14": changed}))
    assert set(told) == {"S1-14"}
    assert "of column P" in told["S1-14"][1]
    assert re.search(r" at \d+(\.\d+)?\u2009h, and not at ", told["S1-14"][1]), told["S1-14"][1]


@pytest.mark.parametrize(("plates", "kind"), [(5000.0, "cold oven"), (9800.0, "other column")])
def test_an_oven_comes_first_where_the_plates_are_not_the_other_columns(plates: float, kind: str) -> None:
    """What a cold oven moves may come to stand where another column has its peaks: plates tell the two."""
    used, rows = bench(2)
    typical = {"silica": 6000.0, "polymer": 10000.0, "carbon": 8000.0}
    rows = {
        name: {m: replace(row, plate_number_half_height=typical[row.group]) for m, row in own.items()}
        for name, own in rows.items()
    }
    moved = peaks_of(rows, "S1-06", "P2-06")
    changed = {m: replace(row, plate_number_half_height=plates) for m, row in moved.items()}
    oven: Doubt = ("cold oven", "all retention factors are higher")
    told = found((used, rows | {"S1-06": changed}), {"S1": {"S1-06": oven}})
    assert told["S1-06"][0] == kind
    assert "column" in told["S1-06"][1] if kind == "other column" else "those of P" in told["S1-06"][1]


def _moved(rows: Mapping[str, PeakRow], factor: float, markers: Sequence[str]) -> dict[str, PeakRow]:
    return {
        name: replace(row, retention_time_min=(row.retention_time_min or 0.0) * factor)
        if name in markers
        else row
        for name, row in rows.items()
    }


@pytest.mark.parametrize("seed", range(20))
def test_no_good_injection_is_accused(seed: int) -> None:
    """Days, bottles, a leak, a hot oven and a fresh bottle at another pH are not another column."""
    used, rows = bench(seed)
    changed = {
        "C1-05": _moved(rows["C1-05"], 1.07, ("void", "base", "neutral")),
        "S1-08": _moved(rows["S1-08"], 0.95, ("base", "neutral")),
        "S2-10": _moved(rows["S2-10"], 1.08, ("base",)),
        "P1-11": {name: row for name, row in rows["P1-11"].items() if name != "base"},
    }
    assert found((used, rows | changed)) == {}
