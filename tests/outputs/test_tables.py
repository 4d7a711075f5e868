"""The data tables hold what the contract promises, readable by a general-purpose program."""

import csv
import io
import json
from collections.abc import Mapping
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from lyewitness.decline.records import Comparison, Decline, Judgement, Life, ModelFit, Series
from lyewitness.findings.records import Answer, Because, Check, Claim, Findings, Report
from lyewitness.outputs.tables import data_files
from lyewitness.peaks.records import Measurements, PeakRow
from lyewitness.study.folder import read_study
from lyewitness.study.records import Event, Limit
from lyewitness.words.estimates import Estimate
from tests.study.making import lay_out


def report_of(tmp_path: Path) -> Report:
    """Return a small report with one row of everything."""

    study = read_study(lay_out(tmp_path)).study
    assert study is not None
    rows = (
        PeakRow(
            "A1-1", "A1", "hybrid", "toluene", 0.0, None, True, True,
            retention_time_min=1.2345678901, plate_number_half_height=9876.5, flags=("split", "edge"),
            emg={"tau_min": Estimate(0.02, 0.018, 0.022)},
        ),
        PeakRow("A1-2", "A1", "hybrid", "toluene", 1.5, 40.0, True, False, absent_because="no peak"),
    )  # fmt: skip
    series = Series(
        "A1", "hybrid", "toluene", "retention_factor", ("A1-1",), np.zeros(1), np.full(1, np.nan), np.ones(1)
    )
    decline = Decline(
        series, 2.0, 0.01, 3, np.full(1, 100.0), end_h=1.5, remaining=Estimate(99.0, 98.0, 100.0),
        model=ModelFit("steady", {}, 1.0, 0.5), limit=Limit("retention_factor", at_least_percent=90),
        limit_percent=90.0, life=Life("not reached", Estimate(low=1.5)),
    )  # fmt: skip
    comparison = Comparison(
        "toluene", "retention_factor", "hybrid", "silica", 1, 1, Estimate(low=1.2), Estimate(), None, None,
        "none", "these columns only", "one column a side",
    )  # fmt: skip
    claim = Claim("c1", "Both held.", "not settled", (Because("column", "A1", "A1"),))
    answer = Answer(study.questions[0], "Both held.", "Not very.", (claim,), ())
    check = Check("same-length", "same length?", "study", "good", "all 50 mm")
    judgement = Judgement((decline,), (), (), (comparison,))
    findings = Findings((answer,), (check,), (), (), ())
    return Report(study, {}, Measurements(rows), judgement, findings, (), {"study": study.id})


def table(files: Mapping[str, bytes], name: str) -> list[dict[str, str]]:
    """Return a CSV file of the report as rows."""
    return list(csv.DictReader(io.StringIO(files[name].decode("utf-8"))))


def test_an_empty_cell_is_not_measured(tmp_path: Path) -> None:
    """What was not measured is empty, never zero and never 'nan'; words stay words."""
    files = data_files(report_of(tmp_path), ())
    first, second = table(files, "data/measurements.csv")
    assert first["retention_time_min"] == "1.23456789"
    assert first["exposure_cv"] == ""
    assert first["flags"] == "split edge"
    assert float(first["emg_tau_min_se"]) == pytest.approx(0.002)
    assert second["found"] == "no"
    assert {second[name] for name in second if name.startswith(("plate", "peak", "emg"))} == {""}
    assert b"nan" not in files["data/decline.csv"].lower()


def test_a_life_that_was_not_reached_has_only_a_lower_end(tmp_path: Path) -> None:
    """`life_h` is empty and `life_low_h` says what the data do show."""
    row = table(data_files(report_of(tmp_path), ()), "data/decline.csv")[0]
    assert (row["life_state"], row["life_h"], row["life_low_h"]) == ("not reached", "", "1.5")
    assert row["limit"] == "at_least_percent = 90"


def test_every_column_of_the_contract_is_there(tmp_path: Path) -> None:
    """The columns that others rely on stand first and in order."""
    files = data_files(report_of(tmp_path), ())
    for name, start in {
        "measurements": "injection,column,group,marker,exposure_h,exposure_cv,used,found,retention_time_min,"
        "retention_factor,plate_number_half_height,plate_number_tangent,plate_number_moments,plate_number_emg,"
        "symmetry_factor,asymmetry_10,resolution,peak_area,peak_height,signal_to_noise,flags,",
        "decline": "column,group,marker,metric,reference_value,reference_sd,n,end_h,remaining_percent,"
        "remaining_low,remaining_high,model,rate_per_h,rate_low,rate_high,limit,life_h,life_low_h,life_high_h,"
        "life_state,",
        "comparisons": "marker,metric,group_a,group_b,columns_a,columns_b,life_ratio,ratio_low,ratio_high,"
        "p_value,p_adjusted,method,finding,",
        "checks": "check,subject,result,detail,",
    }.items():
        assert files[f"data/{name}.csv"].decode().startswith(start)


def test_claims_say_what_they_rest_on(tmp_path: Path) -> None:
    """claims.json holds id, text, strength and the links of each claim."""
    claims = json.loads(data_files(report_of(tmp_path), ())["data/claims.json"])["claims"]
    assert claims[0]["text"] == "Both held."
    assert claims[0]["because"] == [{"kind": "column", "label": "A1", "target": "A1"}]


def test_events_are_told_by_column_and_exposure(tmp_path: Path) -> None:
    """Each event stands once for each column that it touched, with what it did to the exposure."""
    report = report_of(tmp_path)
    assert "data/events.csv" not in data_files(report, ())
    events = (Event("leak", 12.0, columns=("A1",)), Event("flush", 20.0, 21.0, still_exposed=False))
    found = table(
        data_files(replace(report, study=replace(report.study, events=events)), ()), "data/events.csv"
    )
    assert [(row["column"], row["kind"], row["begin_h"], row["exposed"]) for row in found] == [
        ("A1", "leak", "12", "yes"), ("A1", "flush", "20", "no"), ("B1", "flush", "20", "no"),
    ]  # fmt: skip
