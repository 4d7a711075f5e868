"""The command: what it prints, its exit codes, and what it leaves on the disk."""

import shutil
import subprocess
import sys
from datetime import datetime
from pathlib import Path

import pytest

from lyewitness import pipeline
from lyewitness.cli import main
from lyewitness.outputs.pdf import PangoMissingError
from tests.study.making import change


@pytest.fixture
def study(small_study: Path, tmp_path: Path) -> Path:
    """Return a copy of the small study that a test may break."""
    return Path(shutil.copytree(small_study, tmp_path / "study"))


def contents(folder: Path) -> dict[str, bytes]:
    """Return every file below the folder."""
    return {str(path.relative_to(folder)): path.read_bytes() for path in folder.rglob("*") if path.is_file()}


def first_export(study: Path) -> Path:
    """Return one chromatogram file of the study."""
    return next(path for path in sorted((study / "chromatograms").rglob("*")) if path.is_file())


@pytest.mark.parametrize("command", ["begin", "check", "report", "answer", "archive", "rehearse"])
def test_each_command_has_real_help(command: str, capsys: pytest.CaptureFixture[str]) -> None:
    """`--help` says what the command does and exits with 0."""
    with pytest.raises(SystemExit) as stop:
        main([command, "--help"])
    assert stop.value.code == 0
    said = capsys.readouterr().out
    assert "FOLDER" in said
    assert len(said) > 200


@pytest.mark.parametrize("arguments", [[], ["reprot", "x"], ["report", "x"], ["check"]])
def test_wrong_arguments_exit_with_2(arguments: list[str]) -> None:
    """A command that does not exist, or lacks what it needs, exits with 2."""
    with pytest.raises(SystemExit) as stop:
        main(arguments)
    assert stop.value.code == 2


def break_toml(study: Path) -> str:
    """Leave a bracket open."""
    change(study, "study.toml", "[stress]", "[stress")
    return "study.toml, line"


def break_column_id(study: Path) -> str:
    """Name a column that does not exist."""
    lines = (study / "injections.csv").read_text().splitlines()
    cells = lines[3].split(",")
    cells[lines[0].split(",").index("column")] = "Z9"
    lines[3] = ",".join(cells)
    (study / "injections.csv").write_text("\n".join(lines) + "\n")
    return "injections.csv, row 4, column"


def break_number(study: Path) -> str:
    """Put a word where a number belongs."""
    change(study, "study.toml", "\ntemperature_C = ", '\ntemperature_C = "hot" # ')
    return "stress.temperature_C"


def break_by_removing_a_file(study: Path) -> str:
    """Remove one chromatogram."""
    name = first_export(study).relative_to(study).as_posix()
    (study / name).unlink()
    lines = (study / "injections.csv").read_text().splitlines()
    row = next(number for number, line in enumerate(lines, start=1) if name in line)
    return f"injections.csv, row {row}, file"


def break_by_emptying_a_file(study: Path) -> str:
    """Leave one chromatogram without content."""
    first_export(study).write_bytes(b"")
    return first_export(study).relative_to(study).as_posix()


@pytest.mark.parametrize(
    "damage",
    [break_toml, break_column_id, break_number, break_by_removing_a_file, break_by_emptying_a_file],
)
@pytest.mark.usefixtures("no_colour")
def test_a_mistake_gives_one_message_and_leaves_the_old_report(
    study: Path, small_report: Path, tmp_path: Path, damage: object, capsys: pytest.CaptureFixture[str]
) -> None:
    """One message with its place, exit code 1, no traceback, and every byte of the older report as it was."""
    report = Path(shutil.copytree(small_report, tmp_path / "report"))
    before = contents(report)
    place = damage(study)  # type: ignore[operator]
    capsys.readouterr()
    assert main(["report", str(study), "--into", str(report), "--no-pdf"]) == 1
    said = capsys.readouterr().err
    assert said.startswith("1 to be mended")
    assert place in said
    assert said.count("→") == 1
    assert "Traceback" not in said
    assert contents(report) == before


@pytest.mark.usefixtures("no_colour")
def test_check_writes_nothing_and_shows_every_mistake(
    study: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """`check` names all mistakes at once and leaves the folder as it was."""
    places = [break_column_id(study), break_number(study)]
    before = contents(study)
    assert main(["check", str(study)]) == 1
    said = capsys.readouterr().out
    assert all(place in said for place in places)
    assert contents(study) == before


@pytest.mark.usefixtures("no_colour")
def test_check_tells_what_the_report_will_not_be_able_to_say(
    study: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """A study without a conditions log is told what it will lack, and is ready all the same."""
    (study / "conditions.csv").unlink(missing_ok=True)
    assert main(["check", str(study)]) == 0
    said = capsys.readouterr().out
    assert "will not be able to say" in said
    assert "Ready: lyewitness report" in said


@pytest.mark.usefixtures("no_colour", "_all_but_the_print")
def test_without_pango_the_site_is_built_and_the_message_says_what_to_install(
    study: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    """A machine without Pango gets the site, no PDF, and the names of the packages."""

    def missing(*_: object) -> bytes:
        raise PangoMissingError("cannot load library 'libpango-1.0-0'")

    monkeypatch.setattr(pipeline, "pdf_bytes", missing)
    assert main(["report", str(study), "--into", str(tmp_path / "report")]) == 0
    assert (tmp_path / "report" / "index.html").is_file()
    assert not (tmp_path / "report" / "report.pdf").exists()
    assert "report.pdf" not in (tmp_path / "report" / "data.html").read_text("utf-8")
    assert "libpango-1.0-0" in capsys.readouterr().err


SHORT = "<html lang=en><title>t</title><p>A printed report of one line.</p></html>"


@pytest.mark.usefixtures("no_colour", "_all_but_the_print")
@pytest.mark.parametrize("kind", [ImportError, AttributeError, RuntimeError])
@pytest.mark.parametrize("command", ["report", "archive"])
def test_a_pdf_that_fails_never_costs_the_site(
    kind: type[Exception],
    command: str,
    study: Path,
    tmp_path: Path,
    capsys: pytest.CaptureFixture[str],
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """Whatever goes wrong in the PDF, all else is written; message and exit code say what is lacking.

    Once it is mended the next run sets it. What is set is short: how much stands in it plays no part.
    """
    import weasyprint

    def fail(*_: object, **__: object) -> None:
        raise kind("a part of the library is not what it was")

    monkeypatch.setattr(pipeline, "print_html", lambda *_: SHORT)
    monkeypatch.setattr(pipeline, "summary_on_paper", lambda *_: (SHORT,))
    into = tmp_path / "made"
    with monkeypatch.context() as broken:
        broken.setattr(weasyprint, "HTML", fail)
        assert main([command, str(study), "--into", str(into)]) == 6
    site = into if command == "report" else into / "data" / "report"
    assert (site / "index.html").is_file()
    assert (site / "data" / "measurements.csv").is_file()
    assert not (site / "report.pdf").exists()
    said = capsys.readouterr().err
    assert "report.pdf was left out" in said
    assert "is not what it was" in said
    assert main([command, str(study), "--into", str(into)]) == 0
    assert (site / "report.pdf").is_file()


@pytest.mark.parametrize("module", ["weasyprint", "weasyprint.urls"])
def test_a_pdf_library_that_is_not_there_is_told_apart(monkeypatch: pytest.MonkeyPatch, module: str) -> None:
    """Without the library, or with one that lacks a name, the message says what to install."""
    from lyewitness.outputs import pdf

    monkeypatch.setitem(sys.modules, module, None)
    with pytest.raises(pdf.PdfLibraryError, match="pip install --upgrade weasyprint"):
        pdf.pdf_bytes("<p>", {}, {}, datetime(2026, 3, 2))


def test_loading_the_text_library_may_fail(monkeypatch: pytest.MonkeyPatch) -> None:
    """An import that fails for want of a shared library is told apart from a mistake of the program."""
    from lyewitness.outputs import pdf

    class Refusing:
        """Finds no weasyprint, as on a machine without Pango."""

        def find_spec(self, name: str, *_: object) -> None:
            if name.split(".")[0] == "weasyprint":
                raise OSError("cannot load library 'libpango-1.0-0'")

    for name in [name for name in sys.modules if name.split(".")[0] == "weasyprint"]:
        monkeypatch.delitem(sys.modules, name)
    monkeypatch.setattr(sys, "meta_path", [Refusing(), *sys.meta_path])
    with pytest.raises(PangoMissingError, match="libpango"):
        pdf.pdf_bytes("<p>", {}, {}, datetime(2026, 3, 2))


def test_the_reply_is_made_of_claims(study: Path, tmp_path: Path) -> None:
    """`answer` writes HTML and plain text that hold the short answer of the report."""
    assert main(["answer", str(study), "--into", str(tmp_path / "reply.html")]) == 0
    text = (tmp_path / "reply.txt").read_text(encoding="utf-8")
    short = pipeline.compute(study).findings.answers[0].short
    assert " ".join(short.split()) in " ".join(text.split())
    assert (
        (tmp_path / "reply.html").read_text(encoding="utf-8").lstrip().lower().startswith("<!doctype html>")
    )


def test_the_report_can_be_one_file(study: Path, tmp_path: Path) -> None:
    """`--one-file` writes one HTML file that needs nothing beside it, and no folder."""
    assert main(["report", str(study), "--one-file", "--into", str(tmp_path / "send")]) == 0
    assert [path.name for path in tmp_path.iterdir() if path != study] == ["send.html"]
    html = (tmp_path / "send.html").read_text(encoding="utf-8")
    assert all(f'src="{start}' not in html for start in ("figures/", "theme/", "data/", "http", "../"))


def test_an_unknown_question_names_those_there_are(
    study: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """A question id that the study does not have exits with 1 and writes nothing."""
    assert main(["answer", str(study), "--into", str(tmp_path / "reply.html"), "--question", "nope"]) == 1
    assert "q1" in capsys.readouterr().err
    assert not (tmp_path / "reply.html").exists()


def test_the_archive_verifies_and_holds_study_and_report(study: Path, tmp_path: Path) -> None:
    """`archive` writes a bag that the bagit package validates (RFC 8493)."""
    bag = tmp_path / "bag"
    arguments = ["archive", str(study), "--into", str(bag), "--no-pdf", "--date", "2026-03-09"]
    assert main(arguments) == 0
    command = [sys.executable, "-m", "bagit", "--validate", "--quiet", str(bag)]
    assert subprocess.run(command, check=False).returncode == 0
    assert contents(bag / "data" / "study") == contents(study)
    assert (bag / "data" / "report" / "index.html").is_file()
    before = contents(bag)
    assert main(arguments) == 0
    assert contents(bag) == before


@pytest.mark.usefixtures("no_colour")
def test_a_target_that_holds_something_else_is_left_alone(
    study: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """A report is never written over a folder that is no report; the study folder least of all."""
    before = contents(study)
    assert main(["report", str(study), "--into", str(study), "--no-pdf"]) == 1
    assert "name another folder" in capsys.readouterr().err
    assert contents(study) == before


def test_a_new_user_gets_from_begin_to_check(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """`begin` says what to do next, and `check` what is to be filled in."""
    folder = tmp_path / "new"
    assert main(["begin", str(folder)]) == 0
    assert "lyewitness check" in capsys.readouterr().out
    assert main(["check", str(folder)]) == 1
    assert main(["begin", str(folder)]) == 1
