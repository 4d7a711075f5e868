"""What the command says: in any locale, into any pipe, stopped at any moment, to people and to programs."""

import io
import json
import os
import pty
import signal
import subprocess
import sys
from pathlib import Path

import pytest

from lyewitness import commands, pipeline
from lyewitness.cli import main
from lyewitness.terminal import _print_problem, shown
from lyewitness.words.problems import Problem
from tests.study.making import change, lay_out

COMMAND = [sys.executable, "-m", "lyewitness"]


def environment(**more: str) -> dict[str, str]:
    """Return this process's variables and some more."""
    return {**os.environ, **more}


@pytest.mark.parametrize("encoding", ["cp1252", "cp437", "ascii"])
def test_redirected_output_is_utf_8_in_every_locale(tmp_path: Path, encoding: str) -> None:
    """Words such as '°C' and '→' reach a file whole, unwrapped and without colour."""
    folder = lay_out(tmp_path / "study")
    change(folder, "study.toml", "\nph = ", "\nph = 99 # ")
    done = subprocess.run(
        [*COMMAND, "check", str(folder)],
        env=environment(PYTHONIOENCODING=encoding, COLUMNS="30", FORCE_COLOR="1"),
        capture_output=True,
        check=False,
    )
    said = done.stdout.decode("utf-8")
    assert done.returncode == 1
    assert "→" in said
    assert "\x1b" not in said
    assert max(map(len, said.splitlines())) > 30
    assert done.stderr == b""


def test_a_reader_who_leaves_early_is_no_fault(small_study: Path) -> None:
    """`check | head -1` prints one line, no complaint, and ends with 0."""
    told = f"'{sys.executable}' -m lyewitness check '{small_study}' | head -1; exit ${{PIPESTATUS[0]}}"
    done = subprocess.run(["bash", "-c", told], capture_output=True, text=True, check=False)
    assert (done.returncode, done.stderr) == (0, "")
    assert len(done.stdout.splitlines()) == 1


def test_signs_that_steer_a_terminal_are_shown() -> None:
    """Escapes, bells and turns of direction stand as codes; letters of all scripts stay."""
    assert shown("a\x1b[31mb\x07\u202ec\x9b") == r"a\u001b[31mb\u0007\u202ec\u009b"
    assert shown("µ° → Żółć 柱\n") == "µ° → Żółć 柱\n"


def test_rows_to_be_pasted_stand_on_lines_of_their_own() -> None:
    """A cure of several lines is shown as such, without a code for the break, each below the first."""
    stream = io.StringIO()
    _print_problem(stream, Problem("caution", "a.csv", "row 2", "x", "y", "Put these there:\nA,1\nB,2"))
    assert stream.getvalue().splitlines()[-3:] == ["    → Put these there:", "      A,1", "      B,2"]


def test_a_name_with_an_escape_cannot_colour_the_terminal(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """What a table holds is printed as text."""
    folder = lay_out(tmp_path / "study")
    lines = (folder / "injections.csv").read_text().splitlines()
    (folder / "injections.csv").write_text("\n".join([*lines[:-1], "\x1b[2J" + lines[-1] + "x"]) + "\n")
    main(["check", str(folder)])
    assert "\x1b" not in capsys.readouterr().out


def test_a_name_with_a_line_break_stays_on_its_line(
    tmp_path: Path, capfd: pytest.CaptureFixture[str]
) -> None:
    """A line break in a path is shown as a code, as other signs that steer are."""
    taken = tmp_path / "two\nlines"
    taken.write_text("mine")
    assert main(["report", str(lay_out(tmp_path / "study")), "--into", str(taken)]) == 1
    (said,) = capfd.readouterr().err.splitlines()
    assert r"two\u000alines" in said


@pytest.mark.parametrize(
    ("number", "code"), [(signal.SIGINT, 130), (signal.SIGTERM, 143), (signal.SIGHUP, 129)]
)
def test_a_stop_is_told_and_leaves_nothing(
    small_study: Path, tmp_path: Path, number: signal.Signals, code: int
) -> None:
    """A stopped run ends with the code of shells, one line, no traceback, and no scratch."""
    process = subprocess.Popen(
        [*COMMAND, "report", str(small_study), "--into", str(tmp_path / "report"), "-v", "--fresh"],
        stderr=subprocess.PIPE,
        text=True,
    )
    assert process.stderr is not None
    for line in process.stderr:
        if "drawing" in line:
            break
    process.send_signal(number)
    said = process.stderr.read()
    assert process.wait() == code
    assert "stopped; nothing was written" in said
    assert "Traceback" not in said
    assert list(tmp_path.iterdir()) == []


def test_check_speaks_to_programs(small_study: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """`--format json` gives one object with every problem, and whether a report can be built."""
    assert main(["check", str(small_study), "--format", "json"]) == 0
    said = json.loads(capsys.readouterr().out)
    assert said["ready"] is True
    assert set(said) == {"study", "ready", "problems", "cannot_say"}


def test_strict_fails_on_a_caution(
    tmp_path: Path, small_study: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """A caution lets `check` pass, and `check --strict` fail."""
    copy = tmp_path / "study"
    subprocess.run(["cp", "-r", str(small_study), str(copy)], check=True)
    change(copy, "study.toml", 'label = "', 'label = "=1+')
    assert main(["check", str(copy)]) == 0
    assert "takes for a formula" in capsys.readouterr().out
    assert main(["check", str(copy), "--strict"]) == 1


def test_the_word_that_was_meant_is_named(capsys: pytest.CaptureFixture[str]) -> None:
    """A slip in a command or an option is answered with the nearest word."""
    for arguments, meant in ((["reprot", "x"], "report"), (["check", "x", "--strickt"], "--strict")):
        with pytest.raises(SystemExit):
            main(arguments)
        assert f"did you mean '{meant}'?" in capsys.readouterr().err


def test_help_names_the_exit_codes_and_loads_no_stage() -> None:
    """`--help` is quick: it loads neither numbers nor figures."""
    probe = "import sys; from lyewitness.cli import main\ntry: main(['--help'])\nexcept SystemExit: pass\n"
    probe += "sys.exit(any(name in sys.modules for name in ('numpy', 'pydantic', 'rich', 'jinja2')))"
    done = subprocess.run([sys.executable, "-c", probe], capture_output=True, text=True, check=False)
    assert done.returncode == 0
    assert "exit codes:" in done.stdout


def test_a_fault_of_the_program_is_told_as_such(
    small_study: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """What nobody foresaw ends in one message, exit code 3 and a file to send; `--debug` shows where."""

    def fail(*_: object) -> None:
        raise ZeroDivisionError("in the middle")

    monkeypatch.setattr(pipeline, "compute", fail)
    monkeypatch.setattr("tempfile.tempdir", str(tmp_path))
    arguments = ["report", str(small_study), "--into", str(tmp_path / "report")]
    assert main(arguments) == 3
    said = capsys.readouterr().err
    assert "a fault of the program" in said
    assert "nothing was written" in said
    assert "Traceback" not in said
    (left,) = tmp_path.iterdir()
    assert "in the middle" in left.read_text()
    assert str(left) in said
    monkeypatch.setattr("tempfile.tempdir", str(tmp_path / "absent"))
    assert main([*arguments, "--debug"]) == 3
    assert "Traceback" in capsys.readouterr().err


@pytest.mark.usefixtures("_all_but_the_print")
def test_a_pdf_that_fails_never_costs_the_site(
    small_study: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """The site is built, and the reason told."""

    def fail(*_: object) -> bytes:
        raise AttributeError("no such hook in this version")

    monkeypatch.setattr(pipeline, "pdf_bytes", fail)
    assert main(["report", str(small_study), "--into", str(tmp_path / "report")]) == commands.NO_PDF
    assert "no such hook" in capsys.readouterr().err
    assert (tmp_path / "report" / "index.html").is_file()


def test_a_terminal_gets_colours_and_wrapped_lines(tmp_path: Path) -> None:
    """On a terminal headings are coloured, and long lines broken below their indentation."""
    folder = lay_out(tmp_path / "study")
    change(folder, "study.toml", "\nph = ", "\nph = 99 # ")
    ours, theirs = pty.openpty()
    told = environment(TERM="xterm", COLUMNS="60")
    told.pop("NO_COLOR", None)
    subprocess.run([*COMMAND, "check", str(folder)], env=told, stdout=theirs, check=False)
    os.close(theirs)
    said = os.read(ours, 1 << 16).decode()
    os.close(ours)
    assert "\x1b[31;1m" in said


def test_commands_and_help_name_the_same() -> None:
    """Each command that is told of can be run."""
    from lyewitness.cli import HELP

    assert set(HELP) == set(commands.COMMANDS)
