"""What the person at the terminal sees: problems, progress, one line at the end.

In: problems, progress, lines. Out: text on standard output and standard error, in UTF-8. On a terminal it is
wrapped and coloured; what goes into a file or another program is neither. Signs that would steer a terminal
are shown, not obeyed.
"""

import contextlib
import os
import sys
import textwrap
import unicodedata
from collections.abc import Callable, Iterator, Sequence
from pathlib import Path
from time import monotonic
from typing import TYPE_CHECKING, TextIO

from lyewitness.words.problems import Problem, Severity, merged

if TYPE_CHECKING:
    from rich.progress import Progress, TaskID

HEADINGS: dict[Severity, tuple[str, str]] = {
    "error": ("to be mended before a report can be built", "31;1"),
    "caution": ("to be looked at; the report is built all the same", "33"),
    "missing": ("missing, and named so in the report", "36"),
}
"""What is said above the problems of a severity, and its colour (ECMA-48, select graphic rendition)."""
BOLD = "1"
# Whoever waits for less does not wonder (common practice).
SECONDS_BEFORE_PROGRESS = 1.0
# On a narrower terminal indented lines would be broken after every other word.
LEAST_WIDTH = 40


class Terminal:
    """Where the person reads."""

    def __init__(self, quiet: bool = False, verbose: bool = False) -> None:
        for stream in (sys.stdout, sys.stderr):
            _in_utf8(stream)
        self.quiet = quiet
        self.verbose = verbose

    def say(self, line: str, style: str = "") -> None:
        """Print one line of the result."""
        _print(sys.stdout, line, style)

    def warn(self, line: str, style: str = "33") -> None:
        """Print one line beside the result."""
        if not self.quiet or style != "33":
            _print(sys.stderr, line, style)

    def refuse(self, line: str) -> None:
        """Print why nothing was done."""
        _print(sys.stderr, line, "31;1")

    def show_text(self, text: str, beside: bool = False) -> None:
        """Print a text of several lines as it stands."""
        _print(sys.stderr if beside else sys.stdout, text, as_it_is=True)

    def show_problems(self, problems: Sequence[Problem], beside: bool = True) -> None:
        """Print every problem, the worst first, each with place, finding, expectation and cure.

        They go to standard error; where they are the result that was asked for, to standard output.
        """
        stream = sys.stderr if beside else sys.stdout
        problems = merged(problems)
        for severity, (heading, style) in HEADINGS.items():
            chosen = [problem for problem in problems if problem.severity == severity]
            if chosen and not (self.quiet and beside and severity != "error"):
                _print(stream, f"{len(chosen)} {heading}:", style)
                for problem in chosen:
                    _print_problem(stream, problem)

    def show_list(self, heading: str, lines: Sequence[str]) -> None:
        """Print a heading and its lines, nothing where there is no line."""
        if lines:
            self.say(heading, BOLD)
            for line in lines:
                self.say(f"  – {line}")

    @contextlib.contextmanager
    def telling(self, stopped: Callable[[], None]) -> Iterator["Telling"]:
        """Give what is told about the progress of the work; `stopped` raises where the work is to end."""
        telling = Telling(self, stopped)
        try:
            yield telling
        finally:
            telling.end()


class Telling:
    """Shows a bar with the present task, once the work has lasted for a second."""

    def __init__(self, terminal: Terminal, stopped: Callable[[], None]) -> None:
        self._terminal = terminal
        self._stopped = stopped
        self._began = monotonic()
        self._last = ""
        self._bar: Progress | None = None
        self._task: TaskID | None = None

    def __call__(self, task: str, share: float) -> None:
        """Tell which task is being done, and which share of it is done."""
        self._stopped()
        if self._terminal.verbose and task != self._last:
            _print(sys.stderr, f"{monotonic() - self._began:6.1f} s  {task}", "")
        self._last = task
        silent = self._terminal.quiet or self._terminal.verbose or not sys.stderr.isatty()
        if silent or monotonic() - self._began < SECONDS_BEFORE_PROGRESS:
            return
        if self._bar is None:
            self._bar = _bar()
            self._bar.start()
            self._task = self._bar.add_task(task, total=1.0)
        if self._task is not None:
            self._bar.update(self._task, description=task, completed=share, total=1.0 if share else None)

    def end(self) -> None:
        """Take the bar away."""
        if self._bar is not None:
            self._bar.stop()


def _bar() -> "Progress":
    # It takes as long to load as all else that a short command needs, and only a terminal shows it.
    from rich.console import Console
    from rich.progress import BarColumn, Progress, TextColumn

    console = Console(stderr=True, highlight=False)
    return Progress(
        TextColumn("{task.description}"), BarColumn(bar_width=24), console=console, transient=True
    )


def shown(text: str) -> str:
    """Return text in which signs that steer a terminal, or turn the direction of reading, stand as codes."""
    return "".join(sign if _is_plain(sign) else f"\\u{ord(sign):04x}" for sign in text)


def _is_plain(sign: str) -> bool:
    """Return whether a sign only shows itself; Cc and Cf are the controls of Unicode, Cs half signs."""
    return sign == "\n" or unicodedata.category(sign) not in ("Cc", "Cf", "Cs", "Zl", "Zp")


def _print_problem(stream: TextIO, problem: Problem) -> None:
    """Print one problem as a short paragraph."""
    where = ", ".join(part for part in (problem.file, problem.place) if part) or "the study folder"
    _print(stream, f"  {where}", BOLD)
    _print(stream, f"    found {problem.found}; expected {problem.expected}")
    for line in problem.drawing:
        _print(stream, f"      {line}", as_it_is=True)
    cure, *rows = problem.cure.split("\n")
    _print(stream, f"    → {cure}")
    for row in rows:
        # Rows to be pasted stand on lines of their own.
        _print(stream, f"      {row}")


def _print(stream: TextIO, line: str, style: str = "", as_it_is: bool = False) -> None:
    """Print a line; on a terminal wrapped below its own indentation unless `as_it_is`, and coloured.

    A line is one line: a name with a line break in it would else end the message where nobody expects it.
    """
    text = shown(line)
    text = text if as_it_is else text.replace("\n", "\\u000a")
    if stream.isatty():
        text = text if as_it_is else _wrapped(text, _width(stream))
        if style and "NO_COLOR" not in os.environ and os.environ.get("TERM") != "dumb":
            text = f"\x1b[{style}m{text}\x1b[0m"
    try:
        stream.write(text + "\n")
        stream.flush()
    except BrokenPipeError:
        _write_to_nobody(stream)


def _width(stream: TextIO) -> int:
    """Return the width of the terminal in signs."""
    try:
        return max(LEAST_WIDTH, os.get_terminal_size(stream.fileno()).columns)
    except (OSError, ValueError):
        return 80


def _wrapped(text: str, width: int) -> str:
    """Return a line in several, broken at blanks only, so that a path in it can be copied."""
    indent = " " * (len(text) - len(text.lstrip(" ")))
    return textwrap.fill(
        text, width, subsequent_indent=indent, break_long_words=False, break_on_hyphens=False
    )


def _write_to_nobody(stream: TextIO) -> None:
    """Let the rest of the output vanish: who read it has closed the pipe, and heard enough."""
    with contextlib.suppress(OSError, ValueError), nobody() as nowhere:
        os.dup2(nowhere.fileno(), stream.fileno())


def nobody() -> TextIO:
    """Return a stream that keeps nothing."""
    return Path(os.devnull).open("w", encoding="utf-8")


def _in_utf8(stream: TextIO) -> None:
    """Write UTF-8 whatever the locale says; file names that are none are shown in codes."""
    reconfigure = getattr(stream, "reconfigure", None)
    if reconfigure is not None:
        reconfigure(encoding="utf-8", errors="backslashreplace")
