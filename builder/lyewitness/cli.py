"""The command `lyewitness`: arguments in, exit codes and messages out.

Exit codes: 0 done; 1 something in the study folder or the target stands in the way, told without a
traceback; 2 wrong arguments.
"""

import argparse
import sys
from collections.abc import Sequence
from datetime import date
from pathlib import Path

from rich.console import Console
from rich.text import Text

from lyewitness import __version__, pipeline
from lyewitness.findings.records import Report
from lyewitness.outputs.archive import bag_files, study_files
from lyewitness.outputs.placing import BAG_SIGN, REPORT_SIGN, PlaceTakenError, place_file, place_folder
from lyewitness.pages.letter import render_letter
from lyewitness.pages.themes import Theme, load_theme
from lyewitness.rehearsal.writing import rehearse
from lyewitness.study.beginning import begin
from lyewitness.terminal import Telling, show_list, show_problems
from lyewitness.words.problems import StudyFolderError

INSTALL_PANGO = (
    "report.pdf was left out: Pango, which sets its text, is not on this machine. Install it "
    "('apt-get install libpango-1.0-0 libpangoft2-1.0-0', or 'brew install pango') and run the command again."
)

HELP = {
    "begin": (
        "lay out a new study folder, ready to fill in",
        "Lay out a new study folder with a commented study.toml. Nothing is ever overwritten.",
    ),
    "check": (
        "read everything, write nothing, show every problem at once",
        "Read the whole study folder and show every problem at once: file, line or row, what was found, what "
        "was expected, what to do; and what the report will not be able to say for lack of data. The exit "
        "code is 1 where no report can be built.",
    ),
    "report": (
        "build the report: site, PDF and tables",
        "Build the report of a study: a site that opens from the disk (REPORT/index.html), report.pdf, "
        "and the tables in REPORT/data/. An earlier report there is replaced when the new one is complete. "
        "With --one-file, REPORT is one HTML file that holds all of it, to be sent.",
    ),
    "answer": (
        "write the reply to the person who asked",
        "Write the reply to a question, made of the report's claims, as HTML and plain text: FILE.html and "
        "FILE.txt, whichever ending FILE has.",
    ),
    "archive": (
        "put study folder and report together into a bag",
        "Put the study folder and its report together into a BagIt bag (RFC 8493), which any program for "
        "such bags can verify.",
    ),
    "rehearse": (
        "write an invented study folder whose truth is known",
        "Write the example study: an invented comparison, simulated from a seed; the same bytes for the same "
        "seed.",
    ),
}


def main(arguments: Sequence[str] | None = None) -> int:
    """Run the command and return its exit code."""
    options = _parser().parse_args(arguments)
    out, err = Console(highlight=False), Console(stderr=True, highlight=False)
    try:
        code: int = options.run(options, out, err)
    except StudyFolderError as error:
        show_problems(err, error.problems)
        return 1
    except (PlaceTakenError, OSError) as error:
        err.print(Text(str(error), style="bold red"))
        return 1
    return code


def _parser() -> argparse.ArgumentParser:
    """Return the parser of all commands."""
    parser = argparse.ArgumentParser(
        prog="lyewitness",
        description="Turn a folder of column-stability measurements into an answer that can be checked.",
        epilog="'lyewitness COMMAND --help' tells more of each command.",
    )
    parser.add_argument("--version", action="version", version=f"lyewitness {__version__}")
    commands = parser.add_subparsers(required=True, metavar="COMMAND")
    _command(commands, "begin", _begin)
    _command(commands, "check", _check)
    report = _command(commands, "report", _report, into="REPORT")
    answer = _command(commands, "answer", _answer, into="FILE")
    archive = _command(commands, "archive", _archive, into="BAG")
    rehearsal = _command(commands, "rehearse", _rehearse)
    report.add_argument("--one-file", action="store_true", help="write one HTML file instead of a folder")
    for one in (report, archive):
        one.add_argument("--no-pdf", action="store_true", help="leave report.pdf out")
    for one in (report, answer, archive):
        one.add_argument(
            "--theme", default="daylight", help="daylight, journal, or the folder of your own theme"
        )
    answer.add_argument("--question", metavar="ID", default="", help="which question; the first if not given")
    archive.add_argument("--date", type=date.fromisoformat, help="bagging date; today if not given")
    rehearsal.add_argument("--seed", type=int, help="another seed than that of the example study")
    return parser


def _command(
    commands: "argparse._SubParsersAction[argparse.ArgumentParser]", name: str, run: object, into: str = ""
) -> argparse.ArgumentParser:
    """Add one command that is about a folder, and writes `into` something."""
    short, long = HELP[name]
    parser = commands.add_parser(name, help=short, description=long)
    parser.add_argument("folder", metavar="FOLDER", type=Path, help="the study folder")
    if into:
        parser.add_argument("--into", metavar=into, type=Path, required=True, help="where to write")
    parser.set_defaults(run=run)
    return parser


def _tell(out: Console, line: str) -> None:
    """Print one line that is not broken, so that a path in it can be copied."""
    out.print(Text(line), soft_wrap=True)


def _begin(options: argparse.Namespace, out: Console, err: Console) -> int:
    """Lay out a new study folder."""
    for name in begin(options.folder):
        _tell(out, f"wrote {options.folder / name}")
    _tell(out, f"Fill in {options.folder / 'study.toml'}, then run: lyewitness check {options.folder}")
    return 0


def _check(options: argparse.Namespace, out: Console, err: Console) -> int:
    """Show every problem of a study folder."""
    with Telling(err) as progress:
        problems, missing = pipeline.problems_of(options.folder, progress)
    show_problems(out, problems)
    show_list(out, "The report will not be able to say:", missing)
    if any(problem.severity == "error" for problem in problems):
        return 1
    _tell(out, f"Ready: lyewitness report {options.folder} --into REPORT")
    return 0


def _report(options: argparse.Namespace, out: Console, err: Console) -> int:
    """Build the report."""
    theme = load_theme(options.theme)
    if options.one_file:
        return _one_file(options, theme, out, err)
    files, report, remark = _all_files(options, theme, err)
    place_folder(files, options.into, REPORT_SIGN)
    show_problems(err, report.problems)
    if remark:
        err.print(Text(remark, style="yellow"))
    _tell(out, f"Open {options.into / 'index.html'}")
    return 0


def _one_file(options: argparse.Namespace, theme: Theme, out: Console, err: Console) -> int:
    """Write the whole report as one HTML file."""
    target = options.into if options.into.suffix == ".html" else options.into.with_suffix(".html")
    with Telling(err) as progress:
        report = pipeline.compute(options.folder, progress)
        data = pipeline.in_one_file(pipeline.render(report, theme, progress))
    place_file(data, target)
    show_problems(err, report.problems)
    _tell(out, f"Open {target}, or send it")
    return 0


def _all_files(
    options: argparse.Namespace, theme: Theme, err: Console
) -> tuple[dict[str, bytes], Report, str]:
    """Return every file of the report, the report, and a remark where the PDF had to be left out."""
    with Telling(err) as progress:
        report = pipeline.compute(options.folder, progress)
        files = dict(pipeline.render(report, theme, progress, with_pdf=not options.no_pdf).files)
    lacking = not options.no_pdf and pipeline.PDF not in files
    return files, report, INSTALL_PANGO if lacking else ""


def _answer(options: argparse.Namespace, out: Console, err: Console) -> int:
    """Write the reply to one question."""
    theme = load_theme(options.theme)
    with Telling(err) as progress:
        report = pipeline.compute(options.folder, progress)
    answers = {answer.question.id: answer for answer in report.findings.answers}
    wanted = options.question or next(iter(answers))
    if wanted not in answers:
        err.print(
            Text(f"no question '{wanted}' in this study; it has {', '.join(answers)}", style="bold red")
        )
        return 1
    html, text = render_letter(report, answers[wanted], theme)
    for ending, content in ((".html", html), (".txt", text)):
        place_file(content.encode("utf-8"), options.into.with_suffix(ending))
    _tell(out, f"Open {options.into.with_suffix('.html')}, or paste {options.into.with_suffix('.txt')}")
    return 0


def _archive(options: argparse.Namespace, out: Console, err: Console) -> int:
    """Put study and report into a bag."""
    theme = load_theme(options.theme)
    of_report, report, remark = _all_files(options, theme, err)
    bagged_on = options.date or date.today()
    files = bag_files(
        report.study, study_files(options.folder), of_report, bagged_on, f"lyewitness {__version__}"
    )
    place_folder(files, options.into, BAG_SIGN)
    if remark:
        err.print(Text(remark, style="yellow"))
    _tell(out, f"Open {options.into / 'data' / 'report' / 'index.html'}")
    return 0


def _rehearse(options: argparse.Namespace, out: Console, err: Console) -> int:
    """Write the invented study."""
    if options.seed is None:
        rehearse(options.folder)
    else:
        rehearse(options.folder, options.seed)
    _tell(out, f"Wrote {options.folder}; next: lyewitness report {options.folder} --into REPORT")
    return 0


if __name__ == "__main__":
    sys.exit(main())
