"""What the person at the terminal sees: problems, progress, one line at the end.

In: problems and progress. Out: text on standard output and standard error.
"""

from collections.abc import Iterable, Sequence
from time import monotonic
from types import TracebackType

from rich.console import Console
from rich.padding import Padding
from rich.progress import BarColumn, Progress, TaskID, TextColumn
from rich.text import Text

from lyewitness.words.problems import Problem, Severity, merged

HEADINGS: dict[Severity, tuple[str, str]] = {
    "error": ("to be mended before a report can be built", "bold red"),
    "caution": ("to be looked at; the report is built all the same", "yellow"),
    "missing": ("missing, and named so in the report", "cyan"),
}
SECONDS_BEFORE_PROGRESS = 1.0


def show_problems(console: Console, problems: Sequence[Problem]) -> None:
    """Print every problem, the worst first, each with place, finding, expectation and cure."""
    problems = merged(problems)
    for severity, (heading, style) in HEADINGS.items():
        chosen = [problem for problem in problems if problem.severity == severity]
        if chosen:
            console.print(Text(f"{len(chosen)} {heading}:", style=style))
            for problem in chosen:
                _show_problem(console, problem)


def _show_problem(console: Console, problem: Problem) -> None:
    """Print one problem as a short paragraph."""
    where = ", ".join(part for part in (problem.file, problem.place) if part) or "the study folder"
    console.print(Padding(Text(where, style="bold"), (0, 0, 0, 2), expand=False))
    said = f"found {problem.found}; expected {problem.expected}"
    console.print(Padding(Text(said), (0, 0, 0, 4), expand=False))
    console.print(Padding(Text(f"→ {problem.cure}"), (0, 0, 0, 4), expand=False))


def show_list(console: Console, heading: str, lines: Iterable[str]) -> None:
    """Print a heading and its lines, nothing where there is no line."""
    all_lines = list(lines)
    if all_lines:
        console.print(Text(heading, style="bold"))
        for line in all_lines:
            console.print(Padding(Text(f"– {line}"), (0, 0, 0, 2), expand=False))


class Telling:
    """Shows a bar with the present task, once the work has lasted for a second."""

    def __init__(self, console: Console) -> None:
        self._bar = Progress(
            TextColumn("{task.description}"), BarColumn(bar_width=24), console=console, transient=True
        )
        self._began = monotonic()
        self._task: TaskID | None = None

    def __call__(self, task: str, share: float) -> None:
        """Tell which task is being done, and which share of it is done."""
        if monotonic() - self._began < SECONDS_BEFORE_PROGRESS:
            return
        if self._task is None:
            self._bar.start()
            self._task = self._bar.add_task(task, total=1.0)
        self._bar.update(self._task, description=task, completed=share, total=1.0 if share else None)

    def __enter__(self) -> "Telling":
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        if self._task is not None:
            self._bar.stop()
