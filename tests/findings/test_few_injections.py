"""In a column of four injections a bad one is named alone, or with those that it cannot be told from."""

import re
from collections.abc import Mapping
from pathlib import Path

import pytest

from lyewitness.findings.doubts import doubtful_injections
from lyewitness.findings.records import DoubtfulInjection
from lyewitness.peaks.measuring import measure
from lyewitness.study.folder import read_study
from lyewitness.traces.collecting import collect_traces
from tests.hostile.making import sound_study


@pytest.fixture(scope="module")
def sound(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return a sound study of two columns of two types, four injections each."""
    return sound_study(tmp_path_factory.mktemp("few") / "study")


def doubted(study: Path, changed: Mapping[str, str]) -> dict[str, DoubtfulInjection]:
    """Return what is doubted in the study where exports hold these texts."""
    exports = {name: study / "chromatograms" / f"{name}.csv" for name in changed}
    before = {name: path.read_text() for name, path in exports.items()}
    try:
        for name, path in exports.items():
            path.write_text(before[name].partition("\n")[0] + "\n" + changed[name].partition("\n")[2])
        read = read_study(study).study
        assert read is not None
        traces, _ = collect_traces(read, lambda _: None)
        found = doubtful_injections(read, traces, measure(read, traces))
    finally:
        for name, path in exports.items():
            path.write_text(before[name])
    return {one.injection: one for one in found}


def text_of(study: Path, name: str) -> str:
    """Return the text of an export."""
    return (study / "chromatograms" / f"{name}.csv").read_text()


def later(text: str, factor: float) -> str:
    """Return an export with all times multiplied."""
    return re.sub(r"(?m)^[\d.]+(?=,)", lambda time: f"{float(time[0]) * factor:.5f}", text)


@pytest.mark.parametrize("turn", ["01", "02", "03"])
def test_exchanged_files_are_named_and_no_good_neighbour(sound: Path, turn: str) -> None:
    """Of two columns that exchanged the files of one round, these two are told, with their exchange."""
    pair = {f"H1-{turn}": text_of(sound, f"C1-{turn}"), f"C1-{turn}": text_of(sound, f"H1-{turn}")}
    found = doubted(sound, pair)
    assert {name: one.kind for name, one in found.items()} == dict.fromkeys(pair, "other column")
    assert all(len(one.exchange) == 2 for one in found.values())


@pytest.mark.parametrize("name", ["H1-01", "H1-02", "C1-01", "C1-02"])
def test_a_leak_is_named_and_no_good_neighbour(sound: Path, name: str) -> None:
    """An injection with all peaks 5 % later is told; those beside it are not called 5 % earlier."""
    found = doubted(sound, {name: later(text_of(sound, name), 1.05)})
    assert {name: one.kind for name, one in found.items()} == {name: "leak"}


def test_what_cannot_be_told_apart_is_named_together(sound: Path) -> None:
    """A late injection that is off, or the one before it: they are named together."""
    found = doubted(sound, {"H1-04": later(text_of(sound, "H1-04"), 1.05)})
    assert set(found) == {"H1-03", "H1-04"}
    for one in found.values():
        assert one.why.startswith("one of H1-03 and H1-04 is not what the table says"), one.why
        assert "with four injections of the column these data cannot tell which" in one.why
    assert doubted(sound, {}) == {}
