"""From the example's study folder to its answer: what the report says is what the simulator knows."""

import csv
import json
import statistics
from collections.abc import Iterator
from pathlib import Path
from urllib.parse import unquote, urlsplit

import html5lib
import page
import pytest

from lyewitness.cli import main
from lyewitness.rehearsal.records import Truth
from lyewitness.rehearsal.scenario import example_scenario
from lyewitness.rehearsal.simulating import foresee
from lyewitness.shipped import shipped_folder

Row = dict[str, str]


@pytest.fixture(scope="module")
def truth() -> Truth:
    """Return what is true of the example."""
    return foresee(example_scenario())


def rows(report: Path, name: str) -> list[Row]:
    """Return a table of the report."""
    with (report / "data" / name).open(encoding="utf-8", newline="") as table:
        return list(csv.DictReader(table))


def test_every_peak_is_found_at_its_true_place(example_report: Path, truth: Truth) -> None:
    """Every peak that exists is found and named, none is invented, retention is within 0.1 %."""
    checked = 0
    for row in rows(example_report, "measurements.csv"):
        peak = truth.peaks[row["injection"], row["marker"]]
        if row["used"] == "yes":
            assert (row["found"] == "yes") == peak.present, row
            if peak.present and not peak.split:
                checked += 1
                assert float(row["retention_time_min"]) == pytest.approx(peak.retention_time_min, rel=1e-3), (
                    row
                )
    assert checked > 500


@pytest.mark.parametrize(
    "metric",
    ["plate_number_half_height", "plate_number_tangent", "plate_number_moments", "plate_number_emg"],
)
def test_plate_numbers_are_true(example_report: Path, truth: Truth, metric: str) -> None:
    """The median error of each plate number is below 3 %, and no marker is biased by more than that."""
    errors: dict[str, list[float]] = {}
    for row in rows(example_report, "measurements.csv"):
        peak = truth.peaks[row["injection"], row["marker"]]
        if row["used"] == "yes" and row[metric] and not peak.split:
            errors.setdefault(row["marker"], []).append(float(row[metric]) / getattr(peak, metric) - 1)
    assert errors
    for marker, found in errors.items():
        assert statistics.median(abs(error) for error in found) < 0.03, marker
        assert abs(statistics.median(found)) < 0.03, marker


def test_each_life_has_an_interval_and_the_intervals_hold_the_truth(
    example_report: Path, truth: Truth
) -> None:
    """Every limited series says how long it lasted; nine in ten intervals at least hold the true life."""
    held, stated = 0, 0
    for row in rows(example_report, "decline.csv"):
        if not row["limit"]:
            continue
        assert row["life_state"] in {"reached", "not reached", "unclear"}, row
        true_life = truth.columns[row["column"]].lives_h[row["marker"], row["metric"]]
        low = float(row["life_low_h"]) if row["life_low_h"] else 0.0
        high = float(row["life_high_h"]) if row["life_high_h"] else float("inf")
        assert row["life_low_h"] or row["life_high_h"] or row["life_state"] == "unclear", row
        stated += 1
        held += low <= true_life <= high
    assert stated >= 9 * 4
    assert held >= 0.9 * stated


def test_the_groups_are_told_apart_in_the_right_order(example_report: Path, truth: Truth) -> None:
    """For the metric that decides, each true 'lasts longer' is found, and no false one."""
    found: set[tuple[str, str]] = set()
    for row in rows(example_report, "comparisons.csv"):
        if not row["metric"].startswith("plate_number"):
            continue
        pair = (row["group_a"], row["group_b"])
        longer = {"a lasts longer": pair, "b lasts longer": pair[::-1]}.get(row["finding"])
        if longer:
            found.add(longer)
            lives = [
                [truth.columns[name].lives_h[row["marker"], row["metric"]] for name in truth.columns
                 if truth.columns[name].group == group]
                for group in longer
            ]  # fmt: skip
            assert statistics.geometric_mean(min(life, 1e6) for life in lives[0]) > statistics.geometric_mean(
                min(life, 1e6) for life in lives[1]
            ), row
    assert len(found) == 3, found


@pytest.mark.slow
@pytest.mark.usefixtures("_an_empty_store")
def test_two_builds_are_the_same_bytes(example_report: Path, tmp_path: Path) -> None:
    """The same folder gives the same files, the PDF included."""
    again = tmp_path / "again"
    assert main(["report", str(shipped_folder("example_study")), "--into", str(again)]) == 0
    first = {path.relative_to(example_report): path for path in example_report.rglob("*") if path.is_file()}
    second = {path.relative_to(again): path for path in again.rglob("*") if path.is_file()}
    assert first.keys() == second.keys()
    different = [str(name) for name in first if first[name].read_bytes() != second[name].read_bytes()]
    assert different == []
    assert {Path("report.pdf"), Path("summary.pdf"), Path("summary.png")} <= first.keys()


def test_no_link_is_dead(example_report: Path) -> None:
    """Every address in every page leads to a file of the report, and every fragment to an id in it."""
    pages = {
        path: html5lib.parse(path.read_bytes(), namespaceHTMLElements=False)
        for path in sorted(example_report.rglob("*.html"))
    }
    ids = {path: {e.get("id") for e in tree.iter() if e.get("id")} for path, tree in pages.items()}
    dead = [
        f"{path.relative_to(example_report)}: {address}"
        for path, tree in pages.items()
        for address in _addresses(tree)
        if _is_dead(path, address, ids)
    ]
    assert len(pages) > 150
    assert dead == []


def _addresses(tree: object) -> Iterator[str]:
    """Yield every address that a page points at."""
    for element in tree.iter():  # type: ignore[attr-defined]
        for name in ("href", "src", "data"):
            if element.get(name):
                yield element.get(name)
        for candidate in (element.get("srcset") or "").split(","):
            if candidate.strip():
                yield candidate.split()[0]


def _is_dead(page: Path, address: str, ids: dict[Path, set[str]]) -> bool:
    """Return whether an address leads nowhere; addresses of the outside world are not looked up."""
    parts = urlsplit(address)
    if parts.scheme:
        return False
    target = (page.parent / unquote(parts.path)).resolve() if parts.path else page
    if not target.is_file():
        return True
    if parts.fragment.startswith("show="):
        # What the viewer shows: the injections it names must be those of the report.
        shown = unquote(parts.fragment.removeprefix("show=").partition("&")[0]).split(",")
        return not all((target.parent / "injections" / f"{name}.html").is_file() for name in shown)
    return bool(parts.fragment) and target in ids and unquote(parts.fragment) not in ids[target]


def test_no_number_of_the_answer_is_without_a_source(example_report: Path) -> None:
    """Every claim rests on something, and stands word for word on the front page or its question's page."""
    claims = json.loads((example_report / "data" / "claims.json").read_text(encoding="utf-8"))["claims"]
    assert claims
    assert all(claim["because"] for claim in claims)
    pages = [example_report / "index.html", *(example_report / "answers").glob("*.html")]
    shown = " ".join(
        "".join(html5lib.parse(page.read_bytes(), namespaceHTMLElements=False).itertext()) for page in pages
    )
    plain = " ".join(shown.split())
    assert "plate number (half height)" in plain  # in full where it is first told, then short
    for claim in claims:
        told = " ".join(claim["text"].split())
        short = told.replace("plate number (half height)", "plate number")
        assert told in plain or short in plain.replace("plate number (half height)", "plate number"), told


@pytest.mark.parametrize("profile", ["3a", "ua1"])
def test_the_printed_report_conforms(example_report: Path, profile: str) -> None:
    """report.pdf is PDF/A-3a (ISO 19005-3) and PDF/UA-1 (ISO 14289-1) by an outside checker."""
    result = page.validate_pdf(str(example_report / "report.pdf"), profile=profile)
    assert result.is_compliant, result.failures
