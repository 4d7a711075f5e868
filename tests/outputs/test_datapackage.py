"""Every column of every table is explained, and an independent program agrees that the tables are so."""

import json
from pathlib import Path
from typing import Any

import pytest

from lyewitness.outputs.datapackage import NOBODY, PACKAGE, STUDY, field_of
from lyewitness.outputs.tables import (
    COMPARISONS,
    COMPARISONS_BESIDE,
    DECLINE,
    DECLINE_BESIDE,
    EVENTS,
    FACTORS,
    MEASUREMENTS,
    MEASUREMENTS_BESIDE,
)


def package_of(report: Path) -> Any:
    """Return the descriptor."""
    return json.loads((report / PACKAGE).read_text(encoding="utf-8"))


def test_every_table_is_in_the_package_and_every_column_explained(small_report: Path) -> None:
    """No CSV of data/ is left out, and no column of one."""
    package = package_of(small_report)
    tables = {
        path.relative_to(small_report / "data").as_posix() for path in (small_report / "data").rglob("*.csv")
    }
    assert {one["path"] for one in package["resources"]} == tables
    told = {
        field["name"]: field["description"]
        for one in package["resources"]
        for field in one["schema"]["fields"]
    }
    assert [name for name, words in told.items() if not words or words == NOBODY] == []


@pytest.mark.parametrize(
    "name",
    sorted(
        {
            *MEASUREMENTS, *MEASUREMENTS_BESIDE, *DECLINE, *DECLINE_BESIDE, *COMPARISONS, *COMPARISONS_BESIDE,
            *FACTORS, *EVENTS, "of", "low", "high", "temperature", "ph", "particle", "convexity",
        }
    ),
)  # fmt: skip
def test_a_column_that_only_some_studies_have_is_explained(name: str) -> None:
    """Factors, events, particles and pH do not occur in the small study."""
    assert field_of(name)["description"] not in ("", NOBODY)


def test_an_independent_validator_finds_the_package_valid(small_report: Path) -> None:
    """`frictionless` reads every table by its schema, without the network."""
    frictionless = pytest.importorskip("frictionless")
    found = frictionless.validate(str(small_report / PACKAGE))
    assert found.valid, found.flatten(["title", "fieldName", "message"])[:5]


def test_a_cell_against_its_type_is_found(small_report: Path, tmp_path: Path) -> None:
    """The schema is no decoration: a word among numbers is an error."""
    frictionless = pytest.importorskip("frictionless")
    package = package_of(small_report)
    table = (small_report / "data" / "decline.csv").read_text(encoding="utf-8").splitlines()
    cells = table[1].split(",")
    cells[table[0].split(",").index("end_h")] = "long"
    (tmp_path / "decline.csv").write_text("\n".join((table[0], ",".join(cells))) + "\n", encoding="utf-8")
    package["resources"] = [one for one in package["resources"] if one["path"] == "decline.csv"]
    (tmp_path / "datapackage.json").write_text(json.dumps(package), encoding="utf-8")
    assert not frictionless.validate(str(tmp_path / "datapackage.json")).valid


def test_the_study_as_data_tells_the_ph_when_hot(small_report: Path) -> None:
    """A bench pH of 11.0 of an amine at 60 °C is lower, and bounded."""
    stress = json.loads((small_report / STUDY).read_text(encoding="utf-8"))["stresses"][0]
    assert stress["ph_hot_low"] < stress["ph_hot"] < stress["ph_hot_high"] < 11.0


def test_the_data_page_leads_to_every_table_beside_those_of_figures(small_report: Path) -> None:
    """Each table and each JSON file of data/ is named there with what it holds; the package explains them."""
    page = (small_report / "data.html").read_text(encoding="utf-8")
    held = {path.name for path in (small_report / "data").iterdir() if path.is_file()} - {
        "datapackage.json",
        "written.json",
    }
    assert "signs.csv" in held
    assert [name for name in sorted(held) if f'href="data/{name}"' not in page] == []
