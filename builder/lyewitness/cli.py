"""The command `lyewitness`: arguments in, exit codes and messages out.

What a command does stands in `commands`, which loads every stage and is loaded only when a command is to run.
"""

import argparse
import difflib
import errno
import gc
import logging
import os
import platform
import re
import shlex
import signal
import sys
import tempfile
import textwrap
import traceback
import warnings
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from datetime import date
from pathlib import Path
from types import FrameType
from typing import NoReturn

import shtab

from lyewitness import __version__
from lyewitness.outputs.marks import PlaceTakenError, folder_target
from lyewitness.outputs.placing import STOPS
from lyewitness.reissue import reissued, source_of
from lyewitness.store import store_of_user
from lyewitness.terminal import Terminal, nobody
from lyewitness.words.problems import StudyFolderError
from lyewitness.workers import cores

HELP = {
    "begin": (
        "lay out a new study folder, ready to fill in",
        "Lay out a new study folder with a commented study.toml; with --columns, --groups, --every and --for "
        "also the columns in blocks, the injections, the log and a note. Nothing is ever overwritten.",
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
        "its answer on one page (summary.pdf, and summary.png for a talk), "
        "and the tables in REPORT/data/. An earlier report of the same study there is replaced when the new "
        "one is complete; a file of anyone else is never touched. "
        "With --one-file, REPORT is one HTML file that holds all of it, to be sent.",
    ),
    "look": (
        "tell in a few lines how a study that still runs stands",
        "Tell in a few lines what has come in since the last look, which columns have passed which limit, "
        "when the next ones are expected to pass theirs, when to inject next, what is wrong, and whether "
        "stopping now would answer the question. The exit code is 4 where a limit was passed since the last "
        "look, 5 where something is wrong and no limit was passed.",
    ),
    "watch": (
        "build the report again whenever the study has changed",
        "Build the report, and again whenever the study folder has changed and come to rest, until the test "
        "has reached its planned end. Half-written files and a drive that goes away are waited for. "
        "REPORT-live.html beside the report shows it and loads it again every half minute.",
    ),
    "answer": (
        "write the reply to the person who asked",
        "Write the reply to a question, made of the report's claims, as HTML, plain text and PDF: FILE.html, "
        "FILE.txt and FILE.pdf.",
    ),
    "archive": (
        "put study folder and report together into a bag",
        "Put the study folder and its report together into a BagIt bag (RFC 8493), which any program for "
        "such bags can verify. BAG is a folder, or one file where its name ends in .zip or .tar.gz. The bag "
        "describes itself (RO-Crate 1.2), explains every column of every table, and has a README "
        "for a reader "
        "without this program.",
    ),
    "verify": (
        "check a bag: every byte, its description, its numbers and its sentences",
        "Hold every byte of a bag against its hash and the description against the files, name what is "
        "damaged, missing or added; then measure again from the archived exports, build the report again, "
        "and say which numbers, sentences and files are others than today's program makes. What the bag "
        "says in several places is held against itself: versions, hashes, claims and pages, tables and "
        "workbook. With --hash it is held against a seal that was kept elsewhere, or against the fingerprint "
        "in the foot of a PDF. The exit code is 0 where all is the same but the versions that are told, 7 "
        "where something differs and only another version of the program would explain it, else 1.",
    ),
    "compare": (
        "tell what changed from one report to the next",
        "Hold a report against an earlier one, each a study folder, a report, or a bag in any form: which "
        "injections, settings and versions are others, which claims are withdrawn, weaker, stronger or new, "
        "and the lives and comparisons side by side. With --into, as one HTML page.",
    ),
    "shelf": (
        "put finished studies side by side as a site, or ask them",
        "Put the finished studies of a folder (reports, bags, packed bags, study folders) side by side as a "
        "site that opens from the disk, with filters and search, lives of each type across studies, "
        "and studies that contradict each other. Only what is new or changed is read again. With --ask the "
        "studies that bear on a question in plain words, with ranges such as 'below 40 °C', are told, "
        "nearest first, and why.",
    ),
    "rehearse": (
        "write an invented study folder whose truth is known",
        "Write the example study: an invented comparison, simulated from a seed; the same bytes for the same "
        "seed.",
    ),
    "guide": (
        "write the guide: every key, column, limit, format and exit code",
        "Write the guide as Markdown into the folder DOCS: every key of a study folder with its meaning and "
        "default, every column of every table, limits, events, formats, themes, exit codes, upgrades.",
    ),
}
EXIT_CODES = """\
exit codes:
  0    done
  1    something in the study folder or at the target stands in the way, and was told
  2    wrong arguments
  3    a fault of the program; a file to report it with was written
  4    look: a column has passed a limit since the last look
  5    look, shelf: something is wrong and should be looked at
  6    report, archive: all was written but the PDF, which could not be set
  7    verify: whole, but something differs, and only another version would explain it
  130  stopped by Ctrl-C (143 by a request to end, 129 by a closed terminal)
"""
OF = {
    "FOLDER": "the study folder",
    "STUDIES": "the folder that holds finished studies",
    "OLD": "the earlier one: a study folder, a report, or a bag",
    "BAG": "the bag: a folder, .zip or .tar.gz",
}
# Fits a terminal of 80 characters with a margin.
HELP_WIDTH = 78
NOTHING_WRITTEN = "nothing was written"
_MORE_ROOM = "free some room there, or name a place on another disk"
CURES = {
    errno.ENOSPC: _MORE_ROOM,
    errno.EDQUOT: _MORE_ROOM,
    errno.EFBIG: "let files grow larger there ('ulimit -f unlimited'), or name a place on another disk",
    errno.EROFS: "name a place that may be written to",
    errno.EACCES: "give yourself the right to it, or name another place",
}
"""What to do about what the system refuses."""


class StoppedError(BaseException):
    """Someone asked the program to stop; nothing on the way may take that for a fault."""

    def __init__(self, number: int) -> None:
        super().__init__(number)
        self.number = number


class _Stop:
    """Remembers that a stop was asked for: a library may swallow the exception that says so."""

    def __init__(self) -> None:
        self._number = 0

    def __call__(self, number: int, _frame: FrameType | None) -> None:
        """Stop, as the handler of a signal; the second time at once."""
        if self._number:
            os._exit(128 + number)
        self._number = number
        raise StoppedError(number)

    def ask(self) -> None:
        """Stop where that was asked for before."""
        if self._number:
            raise StoppedError(self._number)


# Python looks for cycles whenever 700 more things are held, and a report holds a million that form none: an
# eighth of a build went into looking. At this many the memory in use stays as it was.
LOOKS_FOR_CYCLES_AT = (50_000, 10, 10)


def run() -> int:
    """Run the command as the person at the terminal does, stoppable at any moment; return its exit code."""
    gc.set_threshold(*LOOKS_FOR_CYCLES_AT)
    # Who closed an output before the start wants to hear nothing on it.
    sys.stdout, sys.stderr = (stream or nobody() for stream in (sys.stdout, sys.stderr))
    stop = _Stop()
    sys.unraisablehook = _told_but_stops
    try:
        with _handled(stop):
            return main(stopped=stop.ask)
    except StoppedError as stopped:
        return _told_stopped(stopped.number)
    finally:
        # Else all that is still held is looked through once more as the program ends: 0.3 s of a quick build.
        gc.freeze()


def _told_but_stops(what: "sys.UnraisableHookArgs") -> None:
    """Show what Python could not raise, but no stop: that one is asked for again at the next step."""
    if not isinstance(what.exc_value, StoppedError):
        sys.__unraisablehook__(what)


LOUD = ("matplotlib", "fontTools", "weasyprint")
"""Libraries that tell their own troubles, such as a home without room for settings that nothing here uses."""


def main(arguments: Sequence[str] | None = None, stopped: Callable[[], None] = lambda: None) -> int:
    """Run the command and return its exit code; `stopped` raises where the work is to end."""
    given = sys.argv[1:] if arguments is None else list(arguments)
    options = _parser().parse_args(given)
    terminal = Terminal(options.quiet, options.verbose)
    for library in LOUD:
        logging.getLogger(library).setLevel(logging.CRITICAL)
    warnings.simplefilter("default" if options.debug else "ignore")  # they speak of sources, not of the study
    try:
        if options.command == "report" and _reissued(options, terminal):
            return 0
        # Every stage is loaded here, which takes seconds: '--help' needs none, and a shelf of reports few.
        if options.command == "shelf":
            from lyewitness.shelf.command import run as run_shelf

            return run_shelf(options, terminal, stopped)
        from lyewitness.commands import run as run_command

        return run_command(options, terminal, stopped)
    except StudyFolderError as error:
        terminal.show_problems(error.problems)
    except (PlaceTakenError, OSError) as error:
        if options.debug:
            traceback.print_exc()
        terminal.refuse(_words_of(error))
    except MemoryError:
        terminal.refuse(f"the memory of this machine is used up; {NOTHING_WRITTEN}; close other programs")
    except KeyboardInterrupt:
        return _told_stopped(signal.SIGINT)
    except Exception as error:
        return _told_fault(terminal, error, given, options.debug or options.verbose)
    return 1


def _reissued(options: argparse.Namespace, terminal: Terminal) -> bool:
    """Give an unchanged report out again, and say whether that was done."""
    if options.one_file or options.force or options.fresh:
        return False
    target = folder_target(options.into, options.folder)
    options.source = source_of(options.folder, options.theme, not options.no_pdf)
    problems = reissued(store_of_user(), options.source.key, target)
    if problems is None:
        return False
    terminal.show_problems(problems)
    terminal.say(f"Open {options.into / 'index.html'}")
    return True


def _words_of(error: PlaceTakenError | OSError) -> str:
    """Return what stands in the way; what the system says in a code is said in words, with what to do."""
    if not isinstance(error, OSError) or error.strerror is None:
        return str(error)
    place = f"'{error.filename}': " if error.filename else ""
    cure = CURES.get(error.errno or 0, "mend that and run the command again")
    return f"{place}{error.strerror}; {NOTHING_WRITTEN}; {cure}"


def _told_stopped(number: int) -> int:
    """Say that the work was stopped, and return the exit code that shells give to it."""
    Terminal().refuse(f"stopped; {NOTHING_WRITTEN}")
    return 128 + number


def _told_fault(terminal: Terminal, error: Exception, given: Sequence[str], in_full: bool) -> int:
    """Say that the program is at fault, and leave a file to send."""
    story = "".join(traceback.format_exception(error))
    if in_full:
        terminal.show_text(story, beside=True)
    told = (
        f"a fault of the program ({type(error).__name__}), not of your study; {NOTHING_WRITTEN}. Please "
        f"report it with {_fault_file(story, given)}; '--debug' shows where it happened."
    )
    # Where no file can be written, what a maintainer wants to know stands here, line by line.
    if "\n" in told:
        terminal.show_text(told, beside=True)
    else:
        terminal.refuse(told)
    return 3


def _fault_file(story: str, given: Sequence[str]) -> str:
    """Write what a maintainer wants to know, and return where; the words where nothing can be written."""
    told = (
        f"lyewitness {__version__}, Python {platform.python_version()}, {platform.platform()}\n"
        f"lyewitness {shlex.join(given)}\n\n{story}"
    )
    try:
        handle, name = tempfile.mkstemp(prefix="lyewitness-fault-", suffix=".txt")
        with os.fdopen(handle, "w", encoding="utf-8", errors="backslashreplace") as file:
            file.write(told)
    except OSError:
        return f"these lines:\n{told}"
    return f"the file '{name}' (look through it first: it may quote your data)"


@contextmanager
def _handled(stop: _Stop) -> Iterator[None]:
    """Let signals stop the work in good order, but those that the caller has switched off."""
    before = {number: signal.getsignal(number) for number in STOPS}
    for number, handler in before.items():
        if handler is not signal.SIG_IGN:
            signal.signal(number, stop)
    try:
        yield
    finally:
        for number, handler in before.items():
            signal.signal(number, handler)


class _Parser(argparse.ArgumentParser):
    """Names the word that was probably meant."""

    def error(self, message: str) -> NoReturn:
        """Exit with 2, the message, and the nearest of the words that would have been right."""
        typed = re.search(r"invalid choice: '([^']*)'|unrecognized arguments: (--\S+)", message)
        word = next((one for one in typed.groups() if one), "") if typed else ""
        near = difflib.get_close_matches(word, self.words(), n=1)
        super().error(message + (f"\ndid you mean '{near[0]}'?" if near else ""))

    def words(self) -> list[str]:
        """Return every command and option."""
        found: list[str] = []
        for action in self._actions:
            found += action.option_strings
            if isinstance(action, argparse._SubParsersAction):
                found += [*action.choices, *(word for one in action.choices.values() for word in one.words())]
        return found


def _path(typed: str) -> Path:
    """Return a path; refuse the empty one, which Python takes for the present folder."""
    if not typed or "\0" in typed:
        raise argparse.ArgumentTypeError("an empty path")
    return Path(typed)


def _count(typed: str) -> int:
    """Return a number of workers."""
    if not typed.isascii() or not typed.isdigit() or int(typed) < 1:
        raise argparse.ArgumentTypeError(f"'{typed}' is no number from 1 on")
    return int(typed)


def _parser() -> argparse.ArgumentParser:
    """Return the parser of all commands."""
    shared = _Parser(add_help=False)
    for short, long, meaning in (
        ("-q", "--quiet", "print results and errors only"),
        ("-v", "--verbose", "tell each step and its time; show where a fault happened"),
        ("", "--debug", "show where a fault happened"),
    ):
        names = [name for name in (short, long) if name]
        shared.add_argument(*names, action="store_true", default=argparse.SUPPRESS, help=meaning)
    parser = _Parser(
        prog="lyewitness",
        description="Turn a folder of column-stability measurements into an answer that can be checked.",
        epilog=f"{EXIT_CODES}\n'lyewitness COMMAND --help' tells more of each command.",
        formatter_class=argparse.RawDescriptionHelpFormatter,
        parents=[shared],
    )
    parser.set_defaults(quiet=False, verbose=False, debug=False, source=None)
    shtab.add_argument_to(parser, ["--print-completion"], help="print the completion script of a shell")
    parser.add_argument("--version", action="version", version=f"lyewitness {__version__}")
    commands = parser.add_subparsers(required=True, metavar="COMMAND", dest="command")
    beginning = _command(commands, shared, "begin")
    check = _command(commands, shared, "check")
    report = _command(commands, shared, "report", into="REPORT")
    look = _command(commands, shared, "look")
    watch = _command(commands, shared, "watch", into="REPORT")
    answer = _command(commands, shared, "answer", into="FILE")
    archive = _command(commands, shared, "archive", into="BAG")
    verifying = _command(commands, shared, "verify", of="BAG")
    comparing = _command(commands, shared, "compare", of="OLD")
    shelving = _command(commands, shared, "shelf", of="STUDIES")
    rehearsal = _command(commands, shared, "rehearse")
    guide = _command(commands, shared, "guide", into="DOCS", of="")
    guide.set_defaults(helps=HELP, exit_codes=EXIT_CODES)
    beginning.add_argument("--columns", type=int, metavar="N", help="how many columns there will be")
    beginning.add_argument("--groups", default="", metavar="NAMES", help='their groups, such as "A,B,C"')
    beginning.add_argument("--every", default="", metavar="6h", help="exposure from injection to injection")
    beginning.add_argument("--for", dest="until", default="", metavar="120h", help="exposure at the end")
    comparing.add_argument("newer", metavar="NEW", type=_path, help="the later one, in any of these forms")
    comparing.add_argument("--into", metavar="PAGE", type=_path, help="where to write the page")
    comparing.add_argument("--force", action="store_true", help="keep what is at the target beside it")
    for one in (check, look, comparing):
        one.add_argument("--format", choices=("text", "json"), default="text", help="how it is printed")
    check.add_argument("--strict", action="store_true", help="exit with 1 where there is a caution, too")
    report.add_argument("--one-file", action="store_true", help="write one HTML file instead of a folder")
    for one in (report, watch, answer, archive, verifying):
        one.add_argument("--no-pdf", action="store_true", help="leave all PDFs out")
    watch.add_argument(
        "--rest", type=float, default=2.0, metavar="S", help="seconds without a change before it is read (2)"
    )
    for one in (check, report, look, watch, answer, archive):
        one.add_argument("--fresh", action="store_true", help="make all of the study anew")
    for one in (check, report, look, watch, answer, archive, verifying):
        one.add_argument(
            "--jobs",
            type=_count,
            default=cores(),
            metavar="N",
            help="how many cores to use; all if not given",
        )
    for one in (report, watch, answer, archive, guide):
        one.add_argument(
            "--force", action="store_true", help="keep what is at the target beside it, under another name"
        )
    for one in (report, watch, answer, archive):
        one.add_argument(
            "--theme", default="daylight", help="daylight, journal, or the folder of your own theme"
        )
    answer.add_argument("--question", metavar="ID", default="", help="which question; the first if not given")
    archive.add_argument("--date", type=date.fromisoformat, help="bagging date; today if not given")
    shelving.add_argument("--into", metavar="SITE", type=_path, help="where to write the site")
    shelving.add_argument("--ask", metavar="WORDS", default="", help="a question in plain words")
    shelving.add_argument("--force", action="store_true", help="keep what is at the target beside it")
    verifying.add_argument("--bytes-only", action="store_true", help="do not measure and build again")
    verifying.add_argument(
        "--hash",
        default=None,
        help="its seal, or the fingerprint in the foot of its PDF, as kept elsewhere",
    )
    verifying.add_argument("--theme", default="", help="the folder of your own theme, where it bears one")
    rehearsal.add_argument("--seed", type=int, help="another seed than that of the example study")
    return parser


def _command(
    commands: "argparse._SubParsersAction[_Parser]",
    shared: _Parser,
    name: str,
    into: str = "",
    of: str = "FOLDER",
) -> argparse.ArgumentParser:
    """Add one command that is about a folder, `of` something, and writes `into` something."""
    short, long = HELP[name]
    parser = commands.add_parser(
        name,
        help=short,
        description=textwrap.fill(long, HELP_WIDTH),
        epilog=EXIT_CODES,
        formatter_class=argparse.RawDescriptionHelpFormatter,
        parents=[shared],
    )
    if of:
        typed = parser.add_argument("folder", metavar=of, type=_path, help=OF[of])
        typed.complete = shtab.DIRECTORY  # type: ignore[attr-defined]
    if into:
        where = parser.add_argument("--into", metavar=into, type=_path, required=True, help="where to write")
        where.complete = shtab.FILE  # type: ignore[attr-defined]
    return parser


if __name__ == "__main__":
    sys.exit(run())
