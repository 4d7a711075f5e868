"""Files of a study read some at a time, and their points held only while they are used.

In: the files that injections name, and a store. Out: of each file its traces, or why it cannot be read.

Ten thousand injections of 6,000 points are a gigabyte, of which every stage needs a few megabytes at a time.
So where there is a store, a trace leaves its points there: one that is asked for them brings those of its
batch back, and they are let go when enough others were asked. All else that a trace tells is at hand.
"""

from collections import OrderedDict
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, fields, replace
from functools import partial
from typing import Any

from lyewitness.store import Store
from lyewitness.study.inside import StudyFiles
from lyewitness.study.records import Exports, Injection
from lyewitness.traces.reading import read_traces
from lyewitness.traces.records import Trace
from lyewitness.traces.shaping import unreadable
from lyewitness.words.arrays import FloatArray
from lyewitness.words.problems import Problem, StudyFolderError
from lyewitness.workers import done_in_turn

TOGETHER = 25
"""Files of a column that are kept as one entry: one more file makes one entry anew, and thousands are found
in a hundred pieces."""
MOST_HELD_BYTES = 64 << 20
"""Points that stay in memory: at 6,000 a trace those of 25 batches, more than one figure or survey shows."""


@dataclass(frozen=True, slots=True)
class Unread:
    """Why a file cannot be read."""

    problems: tuple[Problem, ...]


Taken = tuple[Trace, ...] | Unread
"""What a file gave."""


class KeptTrace(Trace):
    """A trace whose points lie in the store; whatever is made of it is a whole one."""

    __slots__ = ("_end_min", "_whole")
    _end_min: float
    _whole: Callable[[], Trace]

    def __new__(cls, *values: Any, **named: Any) -> Any:
        """Return a whole trace where values are given: `replace` makes one of this one."""
        return Trace(*values, **named) if values or named else super().__new__(cls)

    def __init__(self) -> None:
        """Do nothing: `kept` sets what is known."""

    @property
    def time_min(self) -> FloatArray:
        """(n,) times in minutes, strictly increasing."""
        return self._whole().time_min

    @property
    def signal(self) -> FloatArray:
        """(n,) signal in `signal_unit`, finite."""
        return self._whole().signal

    @property
    def end_min(self) -> float:
        """Time of the last point, minutes."""
        return self._end_min

    def __reduce__(self) -> tuple[type[Trace], tuple[Any, ...]]:
        return Trace, tuple(getattr(self, field.name) for field in fields(Trace))


POINTS = ("time_min", "signal")


def kept(head: Trace, whole: Callable[[], Trace]) -> KeptTrace:
    """Return a trace of which `head` has all but the points; its own are the last of them alone."""
    trace: KeptTrace = KeptTrace.__new__(KeptTrace)
    for field in fields(Trace):
        if field.name not in POINTS:
            object.__setattr__(trace, field.name, getattr(head, field.name))
    object.__setattr__(trace, "_end_min", head.end_min)
    object.__setattr__(trace, "_whole", whole)
    return trace


@dataclass(frozen=True, eq=False, slots=True)
class Batch:
    """Some files, and how they are read."""

    files: StudyFiles
    names: tuple[str, ...]
    exports: Exports
    store: Store

    def heads(self) -> tuple[tuple[str, ...], tuple[Taken, ...]]:
        """Return the hash of each file, and of each its traces; without points where a store has these."""
        hashes = tuple(map(self._hash_of, self.names))
        if self.store.folder is None:
            return hashes, self.read(hashes)
        return hashes, self.store.made(
            "heads", self._source(hashes), lambda: tuple(map(_head, self._whole(hashes)))
        )

    def whole(self, hashes: Sequence[str]) -> tuple[Taken, ...]:
        """Return what each file gave, with all points, of files that bear these hashes."""
        return replace(self, store=replace(self.store, used=True))._whole(hashes)

    def read(self, hashes: Sequence[str]) -> tuple[Taken, ...]:
        """Read each file; raises StudyFolderError where one is another by now than bears its hash."""
        again = StudyFiles(self.files.folder, stated=dict(zip(self.names, hashes, strict=True)))
        return tuple(_read(again.read(name), name, self.exports) for name in self.names)

    def _whole(self, hashes: Sequence[str]) -> tuple[Taken, ...]:
        return self.store.made("traces", self._source(hashes), lambda: self.read(hashes))

    def _source(self, hashes: Sequence[str]) -> tuple[object, ...]:
        return (self.names, hashes, self.exports)

    def _hash_of(self, name: str) -> str:
        """Return the hash of a file as it lies on disk, empty where there is none that may be read."""
        self.files.read(name)
        return self.files.hashes.get(name, "")


def _read(data: bytes | None, name: str, exports: Exports) -> Taken:
    """Return the traces of a file of which these are the bytes, or why it cannot be read."""
    try:
        if data is None:
            raise unreadable(name, "", "no such file", "a chromatogram export", "Put the export back.")
        return read_traces(data, name, exports)
    except StudyFolderError as error:
        return Unread(error.problems)


def _head(taken: Taken) -> Taken:
    """Return traces with their last points alone."""
    if isinstance(taken, Unread):
        return taken
    return tuple(replace(one, time_min=one.time_min[-1:], signal=one.signal[-1:]) for one in taken)


def _bytes_of(some: Sequence[Taken]) -> int:
    """Return the bytes of all points."""
    traces = [one for taken in some if not isinstance(taken, Unread) for one in taken]
    return sum(one.time_min.nbytes + one.signal.nbytes for one in traces)


class _Held:
    """The batches whose points were asked for last."""

    def __init__(self) -> None:
        self._wholes: OrderedDict[Batch, tuple[Taken, ...]] = OrderedDict()

    def trace(self, batch: Batch, hashes: Sequence[str], place: int, number: int) -> Trace:
        """Return the trace of that number in the file at that place of a batch."""
        if batch in self._wholes:
            self._wholes.move_to_end(batch)
        else:
            self._wholes[batch] = batch.whole(hashes)
            self._let_go()
        taken = self._wholes[batch][place]
        if isinstance(taken, Unread):
            raise StudyFolderError(taken.problems)
        return taken[number]

    def _let_go(self) -> None:
        """Forget what was not asked for longest, but never what was asked for last."""
        sizes = [_bytes_of(whole) for whole in self._wholes.values()]
        for place in range(len(sizes) - 1):
            if sum(sizes[place:]) <= MOST_HELD_BYTES:
                return
            self._wholes.popitem(last=False)


def read_in_batches(
    files: StudyFiles,
    first: Mapping[str, Injection],
    exports: Exports,
    store: Store,
    jobs: int,
    progress: Callable[[float], None],
) -> dict[str, Taken]:
    """Return what each file gave, by name; `first` has by file the injection that names it first.

    Files that `store` has by their bytes are not parsed; up to `jobs` batches are read at once. `progress` is
    told the share that is done.
    """
    batches, held = list(_batches(files, first, exports, store)), _Held()
    found: dict[str, Taken] = {}
    read = done_in_turn([batch.heads for batch in batches], jobs)
    for batch, (hashes, some) in zip(batches, read, strict=True):
        for place, (name, taken) in enumerate(zip(batch.names, some, strict=True)):
            if isinstance(taken, Unread) or store.folder is None:
                found[name] = taken
                continue
            found[name] = tuple(
                kept(head, partial(held.trace, batch, hashes, place, number))
                for number, head in enumerate(taken)
            )
        progress(len(found) / len(first))
    return found


def _batches(
    files: StudyFiles, first: Mapping[str, Injection], exports: Exports, store: Store
) -> Iterator[Batch]:
    """Yield the files of each column, some at a time, in the order of the study."""
    by_column: dict[str, list[str]] = {}
    for name, injection in first.items():
        by_column.setdefault(injection.column, []).append(name)
    for own in by_column.values():
        for begin in range(0, len(own), TOGETHER):
            yield Batch(files, tuple(own[begin : begin + TOGETHER]), exports, store)
