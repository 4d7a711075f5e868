"""The traces of a whole study, each file read once.

In: a `Study`. Out: one `Trace` for each injection, and every problem on the way.
"""

from collections.abc import Callable, Mapping

from lyewitness.problems import Problem, StudyFolderError
from lyewitness.study.inside import StudyFiles
from lyewitness.study.records import Injection, Study
from lyewitness.traces.reading import choose_trace, read_traces
from lyewitness.traces.records import Trace


def collect_traces(
    study: Study, progress: Callable[[float], None]
) -> tuple[Mapping[str, Trace], tuple[Problem, ...]]:
    """Return the trace of each injection by its id, with the problems of the files that cannot be read.

    A file that several injections name is read once. `progress` is told the share that is done.
    """
    files = StudyFiles(study.folder)
    held: dict[str, tuple[Trace, ...]] = {}
    traces: dict[str, Trace] = {}
    problems: list[Problem] = []
    for number, injection in enumerate(study.injections):
        progress(number / len(study.injections))
        try:
            if injection.file not in held:
                held[injection.file] = ()
                held[injection.file] = read_traces(_bytes_of(files, injection), injection.file, study.exports)
            if held[injection.file]:
                traces[injection.id] = choose_trace(held[injection.file], injection.trace)
        except StudyFolderError as error:
            problems += error.problems
    return traces, tuple(problems)


def _bytes_of(files: StudyFiles, injection: Injection) -> bytes:
    """Return the bytes of an injection's file; raises StudyFolderError where it has gone."""
    data = files.read(injection.file)
    if data is None:
        gone = Problem(
            "error", injection.file, "", "no such file", "a chromatogram export", "Put the export back."
        )
        raise StudyFolderError((gone,))
    return data
