"""What several tests of the readers ask for."""

import math

import numpy as np
import pytest

from lyewitness.study.records import Exports
from lyewitness.traces.reading import read_traces
from lyewitness.traces.records import Trace
from lyewitness.words.problems import Problem, StudyFolderError

STATED = Exports(time_unit="s", sampling_interval_s=0.1)
"""A study that states all that a file may lack."""


def only(data: bytes, exports: Exports | None = None, file: str = "a.dat") -> Trace:
    """Return the one trace of `data`."""
    (trace,) = read_traces(data, file, exports or Exports())
    return trace


def refused(data: bytes, exports: Exports | None = None, file: str = "a.dat") -> Problem:
    """Return the one problem for which `data` is not read; it names file, finding, wish and cure."""
    with pytest.raises(StudyFolderError) as error:
        read_traces(data, file, exports or Exports())
    (problem,) = error.value.problems
    assert problem.file == file
    assert problem.severity == "error"
    assert problem.found
    assert problem.expected
    assert problem.cure
    assert "\n" not in str(problem)
    return problem


def read_or_refused(data: bytes, exports: Exports = STATED) -> None:
    """Check that `data` gives honest traces or problems with words in them."""
    try:
        traces = read_traces(data, "a.dat", exports)
    except StudyFolderError as error:
        (problem,) = error.problems
        assert problem.found
        assert problem.cure
        assert len(str(problem)) < 600
        return
    assert traces
    for trace in traces:
        assert trace.time_min.shape == trace.signal.shape
        assert trace.time_min.size >= 2
        assert np.all(np.isfinite(trace.time_min))
        assert np.all(np.isfinite(trace.signal))
        assert np.all(np.diff(trace.time_min) > 0)
        assert not trace.time_min.flags.writeable
        assert math.isfinite(float(trace.signal.max()))
