from pathlib import Path

from lyewitness.study.records import Conditions, Exports, Injection, Study
from lyewitness.traces.collecting import collect_traces

ROWS = "".join(f"{i / 10},{i % 7},{i % 5}\n" for i in range(30))


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
