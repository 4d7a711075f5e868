from pathlib import Path

import pytest

from lyewitness.study.records import Conditions, Exports, Injection, Study
from lyewitness.traces.collecting import collect_traces

ROWS = "".join(f"{i / 10},{i % 7},{i % 5}\n" for i in range(30))
ONE = "".join(f"{i / 10},{i % 7}\n" for i in range(30))


def study_of(folder: Path, *injections: Injection, exports: Exports | None = None) -> Study:
    """Return a study that has nothing but these injections."""
    nothing = Conditions()
    return Study(
        folder,
        "s",
        "",
        (),
        nothing,
        nothing,
        (),
        (),
        (),
        injections,
        exports=exports or Exports(time_unit="s"),
    )


def test_one_file_serves_several_injections(tmp_path: Path) -> None:
    """Two injections take their traces out of one file, by name."""
    (tmp_path / "a.csv").write_text(f"Time (s),A,B\n{ROWS}")
    study = study_of(
        tmp_path,
        Injection("i1", "a.csv", "C1", trace="A", place="injections.csv, row 2"),
        Injection("i2", "a.csv", "C1", trace="B", place="injections.csv, row 3"),
        Injection("i3", "a.csv", "C1", trace="D", place="injections.csv, row 4"),
    )
    traces, problems = collect_traces(study, lambda share: None)
    assert {name: trace.name for name, trace in traces.items()} == {"i1": "A", "i2": "B"}
    (problem,) = problems
    assert (problem.file, problem.place) == ("a.csv", "injections.csv, row 4")
    assert "'D'" in problem.found


def test_every_file_that_cannot_be_read_is_named_once(tmp_path: Path) -> None:
    """One run hears of a missing, a foreign and an outside file; progress rises."""
    (tmp_path / "pdf.csv").write_bytes(b"%PDF-1.7")
    shares: list[float] = []
    injections = [
        Injection(str(n), name, "C1") for n, name in enumerate(["gone.csv", "pdf.csv", "pdf.csv", "../x"])
    ]
    traces, problems = collect_traces(study_of(tmp_path, *injections), shares.append)
    assert not traces
    assert [(problem.file, problem.severity) for problem in problems] == [
        ("gone.csv", "error"),
        ("pdf.csv", "error"),
        ("../x", "error"),
    ]
    assert shares == sorted(shares)


def test_repairs_are_cautions_counted_by_kind(tmp_path: Path) -> None:
    """What the readers repaired in many files becomes one caution with their number."""
    for n in range(4):
        text = "Time (s),A\n" + "".join(f"{i / 10},{'NaN' if i == 5 + n else i % 7}\n" for i in range(30))
        (tmp_path / f"{n}.csv").write_text(text if n < 3 else text.replace("NaN", "1"))
    study = study_of(tmp_path, *(Injection(str(n), f"{n}.csv", "C1") for n in range(4)))
    traces, problems = collect_traces(study, lambda share: None)
    assert len(traces) == 4
    (problem,) = problems
    assert (problem.severity, problem.file, problem.place) == ("caution", "0.csv", "and 2 further files")
    assert problem.found == "1 point has no value (first: line 7): left out of the trace"


@pytest.mark.parametrize(
    "head",
    [
        "Sample: P2-{n:02d}\nTime (s),A\n",
        "# vial 4, injection\tP2-{n:02d}\nTime (s),A\n",
        "file,p2-{n:02d}.dat\nTime (s),A\n",
        '"Title";"P2-{n:02d}"\nTime (s),A\n',
    ],
)
def test_a_file_that_names_another_injection_is_told(tmp_path: Path, head: str) -> None:
    """The files of P2-01 and P2-03 stand for each other; what names its own, or nothing, is fine."""
    for n, named in ((1, 3), (2, 2), (3, 1)):
        (tmp_path / f"{n}.csv").write_text(head.format(n=named) + ONE)
    (tmp_path / "4.csv").write_text("Column P2, method M7, 220 nm\nTime (s),A\n" + ONE)
    places = [
        Injection(f"P2-{n:02d}", f"{n}.csv", "P2", place=f"injections.csv, row {n + 1}") for n in range(1, 5)
    ]
    _, problems = collect_traces(study_of(tmp_path, *places), lambda share: None)
    told = [problem for problem in problems if "names injection" in problem.found]
    (problem,) = told
    assert (problem.severity, problem.file, problem.place) == ("caution", "1.csv", "and one further file")
    assert problem.found == (
        "a file that names injection 'P2-03' at its head; injections.csv, row 2 gives it to 'P2-01'"
    )


def test_an_exchange_that_the_table_states_is_no_news(tmp_path: Path) -> None:
    """Two rows with each other's files are told only where the names of the files do not say the same."""
    for n, named in ((1, 1), (2, 2)):
        (tmp_path / f"P2-0{n}.csv").write_text(f"Sample: P2-0{named}\nTime (s),A\n{ONE}")
        (tmp_path / f"{n}.csv").write_text(f"Sample: P2-0{named}\nTime (s),A\n{ONE}")
    for first, second, is_told in (("P2-02", "P2-01", False), ("2", "1", True), ("P2-02", "P2-02", True)):
        rows = [Injection("P2-01", f"{first}.csv", "P2"), Injection("P2-02", f"{second}.csv", "P2")]
        _, problems = collect_traces(study_of(tmp_path, *rows), lambda share: None)
        assert any("names injection" in problem.found for problem in problems) is is_told


def test_heads_that_list_a_sequence_or_number_their_runs_say_nothing(tmp_path: Path) -> None:
    """A list of all injections, a column's name and bare numbers name no other injection."""
    heads = ("Sequence: P2-01 P2-02\n", "Injection 2 of 7, column P2\n", "No. 2\n")
    for n, head in enumerate(heads, start=1):
        (tmp_path / f"{n}.csv").write_text(f"{head}Time (s),A\n{ONE}")
    ids = ("P2-01", "P2-02", "2")
    injections = [Injection(one, f"{n}.csv", "P2") for n, one in enumerate(ids, start=1)]
    _, problems = collect_traces(study_of(tmp_path, *injections), lambda share: None)
    assert [problem for problem in problems if "names injection" in problem.found] == []


def test_one_trace_under_two_heads_is_one_measurement(tmp_path: Path) -> None:
    """A file that was copied and given the head of another injection is told as a copy."""
    for n in (1, 2, 3):
        points = ONE if n < 3 else ONE.replace("0.5,5", "0.5,6")
        (tmp_path / f"{n}.csv").write_text(f"Acquired: 2026-03-0{n}T08:00:00\nTime (s),A\n{points}")
    study = study_of(tmp_path, *(Injection(f"I{n}", f"{n}.csv", "C1") for n in (1, 2, 3)))
    _, (problem,) = collect_traces(study, lambda share: None)
    assert (problem.severity, problem.file) == ("caution", "2.csv")
    assert "the same points as in '1.csv'" in problem.found
