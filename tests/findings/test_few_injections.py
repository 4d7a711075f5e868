"""In a column of four injections a bad one is named alone, or with those that it cannot be told from."""

import re
from collections.abc import Mapping, Sequence
from pathlib import Path

import numpy as np
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
    """A late injection that is off, or the one before it: they are named together, where it is told."""
    found = doubted(sound, {"H1-04": later(text_of(sound, "H1-04"), 1.05)})
    assert set(found) == {"H1-04"}
    for one in found.values():
        assert one.why.startswith("one of H1-03 and H1-04 is not what the table says"), one.why
        assert "with four injections of the column these data cannot tell which" in one.why
    assert doubted(sound, {}) == {}


STUDY = """
[study]
id = "few"
title = "A column of few injections"
question = "How long does it last?"
invented = "All data of this study are simulated."
run_time_min = 6.0

[[column]]
id = "Z1"
group = "coated"
length_mm = 50
inner_diameter_mm = 3.0
particle_um = 3.0

[[marker]]
id = "thiourea"
role = "void"
retention_min = { coated = 0.70 }

[[marker]]
id = "toluene"
role = "neutral"
retention_min = { coated = 2.0 }

[[marker]]
id = "propranolol"
role = "base"
retention_min = { coated = 2.5 }

[limits]
retention_factor = { at_least_percent = 90 }
"""
REPEATED_THEN_LONG = (0.15, 0.30, 0.45, 20.0, 40.0, 60.0)
"""Exposures of three repeats of the fresh column and of a few injections a day apart."""


def peaks_text(retained: float, void: float, bubbles: bool = False, areas: float = 1.0) -> str:
    """Return an export of a hold-up marker and two others; `retained` and `void` multiply their times."""
    time = np.arange(0.0, 6.0, 0.002)
    signal = np.random.default_rng(round(1e6 * retained * areas)).normal(0.0, 0.03, time.size)
    for at, factor, plates in ((0.7, void, 3200), (2.0, retained, 6000), (2.5, retained, 6000)):
        width = at / plates**0.5
        signal += areas * 0.4 / (width * 2.5) * np.exp(-(((time - at * factor) / width) ** 2) / 2)
    if bubbles:
        for at, height in ((1.16, 12.0), (1.5, 7.0), (3.93, 8.0)):
            signal += height * np.exp(-(((time - at) / 0.004) ** 2))
    rows = "".join(f"{t:.4f},{v:.4f}\n" for t, v in zip(time, signal, strict=True))
    return f"Time (min),Signal (mAU)\n{rows}"


def repeated_study(folder: Path, texts: Sequence[str]) -> dict[str, DoubtfulInjection]:
    """Return what is doubted of one column with these exports, at `REPEATED_THEN_LONG`."""
    (folder / "chromatograms").mkdir(parents=True)
    rows = ["injection,file,column,exposure_h"]
    for number, (hours, text) in enumerate(zip(REPEATED_THEN_LONG, texts, strict=False), start=1):
        (folder / "chromatograms" / f"Z1-{number}.csv").write_text(text)
        rows.append(f"Z1-{number},chromatograms/Z1-{number}.csv,Z1,{hours}")
    (folder / "injections.csv").write_text("\n".join(rows) + "\n")
    (folder / "study.toml").write_text(STUDY)
    read = read_study(folder).study
    assert read is not None
    traces, _ = collect_traces(read, lambda _: None)
    return {one.injection: one for one in doubtful_injections(read, traces, measure(read, traces))}


EARLY_LOSS = ((1.0, 1.0), (1.002, 1.001), (0.999, 1.0), (0.972, 1.002), (0.955, 1.0))
"""Factors of retained markers and of the hold-up marker of a column that loses its coat from day one."""


def test_a_first_loss_is_no_leak_beside_one(tmp_path: Path) -> None:
    """Where the hold-up time stays, retention was lost; the leak after it moves all, and alone is told."""
    texts = [peaks_text(*factors) for factors in (*EARLY_LOSS, (0.94 * 1.09, 1.09))]
    found = repeated_study(tmp_path / "study", texts)
    assert {name: one.kind for name, one in found.items()} == {"Z1-6": "leak"}
    assert re.match(r"all peaks are (8\.9|9\.0|9\.1) % later", found["Z1-6"].why), found["Z1-6"].why


def test_repeats_of_a_fresh_column_lead_no_areas_on(tmp_path: Path) -> None:
    """Three repeats that differ by 1 % do not foretell the areas of the next day: all are as usual."""
    areas = (1.008, 1.0, 0.992, 1.01, 1.005)
    texts = [peaks_text(*factors, areas=area) for factors, area in zip(EARLY_LOSS, areas, strict=True)]
    assert repeated_study(tmp_path / "study", texts) == {}


def test_a_bubble_that_slows_the_flow_is_told_as_a_bubble(tmp_path: Path) -> None:
    """Narrow peaks that come through no column are told before the flow that the same bubble disturbs."""
    texts = [peaks_text(*factors) for factors in EARLY_LOSS]
    found = repeated_study(tmp_path / "study", [*texts, peaks_text(0.94 * 1.05, 1.05, bubbles=True)])
    assert {name: one.kind for name, one in found.items()} == {"Z1-6": "bubble"}
    assert found["Z1-6"].why.startswith(
        "three peaks at 1.16 min, 1.50 min and 3.93 min less than half as wide"
    )
    assert found["Z1-6"].why.endswith("later, by one factor")
