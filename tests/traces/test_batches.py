"""Traces that leave their points in the store are the traces of their files, to the last bit."""

import pickle
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from lyewitness.store import NO_STORE, Store, digest_of
from lyewitness.study.records import Injection
from lyewitness.traces import batches
from lyewitness.traces.batches import KeptTrace
from lyewitness.traces.collecting import collect_traces
from lyewitness.traces.records import Trace
from lyewitness.words.problems import StudyFolderError
from tests.traces.test_collecting import study_of

FILES = 60
"""More than two batches."""


def traces_in(folder: Path, store: Store) -> dict[str, Trace]:
    """Return the traces of a column of so many files, each with a signal of its own."""
    for number in range(FILES):
        rows = "".join(f"{i / 10},{(i * (number + 3)) % 1009}\n" for i in range(30))
        (folder / f"{number}.csv").write_text(f"Time (s),A\n{rows}")
    injections = [Injection(str(number), f"{number}.csv", "C1") for number in range(FILES)]
    traces, problems = collect_traces(study_of(folder, *injections), lambda share: None, store)
    assert not problems
    return dict(traces)


@pytest.fixture
def study(tmp_path: Path) -> Path:
    """Return an empty folder beside that of the store."""
    (tmp_path / "study").mkdir()
    return tmp_path / "study"


def test_what_a_kept_trace_tells_is_what_its_file_holds(study: Path, tmp_path: Path) -> None:
    """Points, digest, copies and what is made of it equal those of a trace that holds its points."""
    whole, first = traces_in(study, NO_STORE), traces_in(study, Store(tmp_path / "kept"))
    for kept in (first, traces_in(study, Store(tmp_path / "kept"))):
        for name, trace in kept.items():
            assert type(trace) is KeptTrace
            assert digest_of(trace) == digest_of(whole[name])
            assert trace.end_min == whole[name].end_min
            assert not trace.signal.flags.writeable
    trace = first["7"]
    assert digest_of(pickle.loads(pickle.dumps(trace))) == digest_of(trace)
    assert type(doubled := replace(trace, signal=trace.signal * 2)) is Trace
    assert np.array_equal(doubled.signal, whole["7"].signal * 2)


def test_few_batches_are_held(study: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Whoever goes along the traces brings each batch back once, and holds no more than were allowed."""
    monkeypatch.setattr(batches, "MOST_HELD_BYTES", 1)
    kept, asked = traces_in(study, Store(tmp_path / "kept")), []
    whole = batches.Batch.whole

    def counted(one: batches.Batch, hashes: tuple[str, ...]) -> object:
        asked.append(one.names[0])
        return whole(one, hashes)

    monkeypatch.setattr(batches.Batch, "whole", counted)
    for trace in kept.values():
        assert trace.signal.size == trace.time_min.size == 30
    assert len(asked) == 3
    assert kept["0"].signal.size == 30
    assert len(asked) == 4


def test_points_that_are_lost_are_read_again(study: Path, tmp_path: Path) -> None:
    """Without its entries a trace reads its file again; a file that is another one by now is refused."""
    kept = traces_in(study, Store(tmp_path / "kept"))
    for entry in (tmp_path / "kept").rglob("*"):
        if entry.is_file():
            entry.write_bytes(b"damaged")
    assert digest_of(kept["3"]) == digest_of(traces_in(study, NO_STORE)["3"])
    (study / "55.csv").write_text("Time (s),A\n0,1\n1,2\n")
    with pytest.raises(StudyFolderError) as refused:
        assert kept["55"].signal.size
    assert refused.value.problems[0].file == "55.csv"
