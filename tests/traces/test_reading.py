import hashlib

import numpy as np
import pytest

from lyewitness.study.records import Exports
from lyewitness.traces.reading import choose_trace, read_traces
from lyewitness.words.problems import StudyFolderError

PLAIN = b"Time (min),Signal (mAU)\n" + b"".join(b"%.3f,%.2f\n" % (i / 100, i % 7) for i in range(50))
SEVERAL = b"Time (min),UV 220 nm (mAU),UV 254 nm (mAU)\n" + b"".join(
    b"%.2f,%d,%d\n" % (i / 100, i % 5, i % 3) for i in range(30)
)


def test_a_plain_export_is_read() -> None:
    """Times become minutes, names and units come from the headings, the hash is that of the file."""
    (trace,) = read_traces(PLAIN, "chromatograms/a.csv", Exports())
    np.testing.assert_allclose(trace.time_min, np.arange(50) / 100, rtol=0, atol=1e-12)
    np.testing.assert_array_equal(trace.signal, np.arange(50) % 7)
    assert (trace.file, trace.name, trace.signal_unit) == ("chromatograms/a.csv", "Signal", "mAU")
    assert (trace.time_unit, trace.format, trace.cautions) == ("min", "delimited text", ())
    assert trace.sha256 == hashlib.sha256(PLAIN).hexdigest()


def test_arrays_cannot_be_changed() -> None:
    """A trace is a record: writing into its arrays is refused."""
    (trace,) = read_traces(PLAIN, "a.csv", Exports())
    with pytest.raises(ValueError, match="read-only"):
        trace.signal[0] = 1
    with pytest.raises(ValueError, match="read-only"):
        trace.time_min[0] = 1


def test_a_trace_is_chosen_by_name() -> None:
    """Of several traces the named one is taken, whatever the case and the blanks of its name."""
    traces = read_traces(SEVERAL, "a.csv", Exports())
    assert choose_trace(traces, "UV 254 nm") is traces[1]
    assert choose_trace(traces, "uv  220 NM") is traces[0]


@pytest.mark.parametrize(("wanted", "found"), [("", "no word on which"), ("UV 280 nm", "'UV 280 nm'")])
def test_an_ambiguous_choice_names_the_traces(wanted: str, found: str) -> None:
    """Where no one trace answers, the message gives the names and the place that asked."""
    traces = read_traces(SEVERAL, "a.csv", Exports())
    with pytest.raises(StudyFolderError) as error:
        choose_trace(traces, wanted, "injections.csv, row 14")
    (problem,) = error.value.problems
    assert problem.place == "injections.csv, row 14"
    assert found in problem.found
    assert "'UV 220 nm', 'UV 254 nm'" in problem.expected


def test_the_only_trace_needs_no_name() -> None:
    """A file with one trace is used without a name in the table of injections."""
    traces = read_traces(PLAIN, "a.csv", Exports())
    assert choose_trace(traces) is traces[0]


def test_a_name_for_an_unnamed_single_trace_is_a_caution() -> None:
    """Where the file gives its one trace no name, that trace is taken and the caution says so."""
    rows = b"".join(b"%.3f\t%d\n" % (i / 100, i % 7) for i in range(50))
    traces = read_traces(rows, "a.txt", Exports(time_unit="min"))
    assert "without a name" in choose_trace(traces, "UV").cautions[-1]


def test_an_unknown_time_unit_is_an_error() -> None:
    """A time unit that is stated neither in the file nor in the study is never guessed."""
    with pytest.raises(StudyFolderError) as error:
        read_traces(PLAIN.replace(b" (min)", b""), "a.csv", Exports())
    (problem,) = error.value.problems
    assert (problem.severity, problem.file, problem.place) == ("error", "a.csv", "line 2")
    assert "time_unit" in problem.cure


def test_equal_names_are_told_apart() -> None:
    """Two traces of one name in one file get a number, so that either can be chosen."""
    traces = read_traces(SEVERAL.replace(b"254", b"220"), "a.csv", Exports())
    assert [trace.name for trace in traces] == ["UV 220 nm", "UV 220 nm (2)"]


def test_the_file_is_followed_where_the_study_says_otherwise() -> None:
    """Units that the file states win over [exports]; each difference is a caution."""
    (trace,) = read_traces(PLAIN, "a.csv", Exports(time_unit="s", signal_unit="AU"))
    assert (trace.time_unit, trace.signal_unit) == ("min", "mAU")
    assert trace.cautions == (
        "The file states time in min, [exports] in s; the file was followed.",
        "The file states the signal in mAU, [exports] in AU; the file was followed.",
    )


def test_times_alone_are_no_trace() -> None:
    """A file with a column of times and nothing else is refused."""
    rows = b"".join(b"%.2f\n" % (i / 100) for i in range(50))
    with pytest.raises(StudyFolderError, match="times without a signal"):
        read_traces(b"Time (min)\n" + rows, "a.csv", Exports(sampling_interval_s=1.0))


def test_the_name_of_a_file_does_not_count() -> None:
    """The name of a file says nothing of its format."""
    for name in ("a.cdf", "a.mzML", "a.jdx", "a.gz", "a"):
        (trace,) = read_traces(PLAIN, name, Exports())
        assert trace.format == "delimited text"
