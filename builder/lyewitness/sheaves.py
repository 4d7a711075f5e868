"""What is made together lies together in the store, and is brought from there when it is asked for.

In: a store, and how some things are made. Out: `Sheaf`s: what is known of them at once, the whole when it is
asked for. `Files`: every file of a report by its path, thousands of them held as no more than their hashes.

The pages, pictures and traces of ten thousand injections are half a gigabyte, of which whoever writes them
needs one at a time, and of those that stand there already none.
"""

import hashlib
from collections import OrderedDict
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import partial
from typing import Any, Generic, TypeVar

from lyewitness.store import Store, code_digest, digest_of
from lyewitness.workers import done_in_turn

Head = TypeVar("Head")
Whole = TypeVar("Whole")

MOST_HELD = 3
"""Sheaves that stay in memory after they were brought: files are asked for in the order of their paths, which
goes along one sheaf after the other. Pages of 25 injections are a megabyte, tables of a marker twenty."""


@dataclass(frozen=True, eq=False, slots=True)
class Binding(Generic[Whole]):
    """Things that are still to be made together."""

    source: tuple[object, ...]
    """All that they are made from, or digests of it."""
    make: Callable[[], Whole]


@dataclass(frozen=True, eq=False, slots=True)
class Sheaf(Generic[Head, Whole]):
    """Things that were made together."""

    key: str
    """What tells them from all others; empty where nothing is kept."""
    head: Head
    """What is known of them without bringing them."""
    whole: Callable[[], Whole]
    """Brings them; makes them anew where the store has lost them."""


def bound(
    kind: str,
    bindings: Sequence[Binding[Whole]],
    head_of: Callable[[Whole], Head],
    store: Store,
    jobs: int = 1,
    prepare: Callable[[], None] | None = None,
) -> Iterator[Sheaf[Head, Whole]]:
    """Yield a sheaf for each binding, in order; what `store` does not have is made, up to `jobs` at once.

    `prepare` is called before any is made. Without a folder to keep them in, all stay in memory.
    """
    if store.folder is None:
        for whole in done_in_turn([one.make for one in bindings], jobs):
            yield Sheaf("", head_of(whole), partial(_same, whole))
        return
    keys = [digest_of(kind, code_digest(), one.source) for one in bindings]
    heads = [store.recall(_of_head(key)) for key in keys]
    tasks = [
        partial(_made, store, key, one.make, head_of)
        for one, key, (found, _) in zip(bindings, keys, heads, strict=True)
        if not found
    ]
    if tasks and prepare is not None:
        prepare()
    fresh, lately = done_in_turn(tasks, jobs), _Lately(store)
    for one, key, (found, head) in zip(bindings, keys, heads, strict=True):
        yield Sheaf(key, head if found else next(fresh), partial(lately.whole, key, one.make))


def _same(whole: Whole) -> Whole:
    return whole


def _of_head(key: str) -> str:
    return digest_of("head", key)


def _made(store: Store, key: str, make: Callable[[], Whole], head_of: Callable[[Whole], Head]) -> Head:
    """Make things and keep them, and what is known of them."""
    whole = make()
    head = head_of(whole)
    store.keep(key, whole)
    store.keep(_of_head(key), head)
    return head


class _Lately:
    """The sheaves that were asked for last."""

    def __init__(self, store: Store) -> None:
        # What was just made anew may be believed.
        self._store = replace(store, used=True)
        self._wholes: OrderedDict[str, Any] = OrderedDict()

    def whole(self, key: str, make: Callable[[], Whole]) -> Whole:
        """Return what is kept under a key."""
        if key in self._wholes:
            self._wholes.move_to_end(key)
        else:
            found, kept = self._store.recall(key)
            self._wholes[key] = kept if found else make()
            if len(self._wholes) > MOST_HELD:
                self._wholes.popitem(last=False)
        return self._wholes[key]  # type: ignore[no-any-return]


@dataclass(frozen=True, eq=False, slots=True)
class Piece:
    """A file that is brought when it is asked for."""

    sha256: str
    size: int
    bring: Callable[[], bytes]
    head: bytes = b""
    """The line with the names of the columns, of a table; empty for all else."""


class Files(Mapping[str, bytes]):
    """Files by path; what of them is a piece is brought whenever it is asked for."""

    def __init__(self, held: Mapping[str, bytes | Piece]) -> None:
        self.held = dict(held)
        self._hashes: dict[str, str] = {}

    def __getitem__(self, path: str) -> bytes:
        one = self.held[path]
        return one.bring() if isinstance(one, Piece) else one

    def __iter__(self) -> Iterator[str]:
        return iter(self.held)

    def __len__(self) -> int:
        return len(self.held)

    @property
    def size(self) -> int:
        """Bytes of all files."""
        return sum(one.size if isinstance(one, Piece) else len(one) for one in self.held.values())

    @property
    def hashes(self) -> dict[str, str]:
        """SHA-256 by path."""
        for path, one in self.held.items():
            if path not in self._hashes:
                self._hashes[path] = one.sha256 if isinstance(one, Piece) else hashlib.sha256(one).hexdigest()
        return self._hashes


def held_in(files: Mapping[str, bytes]) -> Mapping[str, bytes | Piece]:
    """Return what is held of files, without bringing any."""
    return files.held if isinstance(files, Files) else files
