"""What was made before, kept by what it was made from.

In: whatever something is made from, and how it is made. Out: what was made, from the store where it holds
exactly that, else made now and kept.

An entry bears the digest of all it was made from, the program's own code and libraries among it, and a
checksum. One that is damaged, cut off, of another key or of unknown words is made anew and never believed.
It holds records, arrays and plain values only: reading one runs no code but that of the records themselves.
"""

import hashlib
import io
import os
import pickle
import platform
import secrets
import sys
from collections import OrderedDict
from collections.abc import Callable, Iterator, Mapping
from contextlib import suppress
from dataclasses import dataclass, fields, is_dataclass
from functools import cache, wraps
from importlib import import_module
from importlib.metadata import PackageNotFoundError, version
from operator import attrgetter
from pathlib import Path
from types import MappingProxyType
from typing import Any, BinaryIO, ParamSpec, TypeVar

Made = TypeVar("Made")
Source = ParamSpec("Source")

SIGN = b"lyewitness kept, form 1\n"
# Of SHA-256.
DIGEST_BYTES = 32
MOST_BYTES = 6 << 30
"""A study of 2,000 injections of 6,000 points takes 0.4 GiB, its report with it, one of 10,000 takes 1.5:
room for one of those as it was, as it is, and once more, or for many smaller ones."""
KEEPS_AFTER_TRIM = 0.8
"""Share of `MOST_BYTES` that is left when room is made, so that not every build has to make some."""
WEIGHING_LIBRARIES = (
    "numpy", "scipy", "matplotlib", "jinja2", "markdown-it-py", "weasyprint", "pillow",
    "fonttools", "pydantic", "xlsxwriter",
)  # fmt: skip
"""Another version of these may give other bytes."""
PLAIN_NAMES = frozenset(
    (
        ("datetime", "date"),
        ("datetime", "datetime"),
        ("datetime", "timezone"),
        ("datetime", "timedelta"),
        ("lyewitness.store", "_array"),
        ("lyewitness.store", "_scalar"),
        ("lyewitness.store", "_mapping"),
        ("lyewitness.store", "_path"),
        ("lyewitness.store", "_record"),
        ("builtins", "frozenset"),
        ("builtins", "set"),
        ("builtins", "complex"),
    )
)
"""What an entry may name beside the records of the program."""


@dataclass(frozen=True, slots=True)
class Store:
    """A folder of entries; one without a folder keeps nothing and recalls nothing."""

    folder: Path | None = None
    used: bool = True
    """False where what is there is to be made anew, and then kept."""

    def made(self, kind: str, source: tuple[object, ...], make: Callable[[], Made]) -> Made:
        """Return what `make` makes of `source`; from the store where it was made of the same before."""
        if self.folder is None:
            return make()
        key = digest_of(kind, code_digest(), source)
        found, value = self.recall(key)
        if found:
            return value  # type: ignore[no-any-return]
        fresh = make()
        self.keep(key, fresh)
        return fresh

    def recall(self, key: str) -> tuple[bool, Any]:
        """Return (True, what is kept under `key`), or (False, None) where nothing is that can be believed."""
        if self.folder is None or not self.used:
            return False, None
        path = self._place(key)
        try:
            held = path.read_bytes()
            os.utime(path)
        except OSError:
            return False, None
        head = SIGN + bytes.fromhex(key)
        body = memoryview(held)[len(head) + DIGEST_BYTES :]
        told = held[len(head) : len(head) + DIGEST_BYTES]
        if not held.startswith(head) or hashlib.sha256(body).digest() != told:
            return False, None
        try:
            return True, _Reader(io.BytesIO(body)).load()
        # Another form of a record than the one at hand shows itself in one of these ways.
        except (
            pickle.UnpicklingError,
            AttributeError,
            EOFError,
            ImportError,
            IndexError,
            TypeError,
            ValueError,
        ):
            return False, None

    def keep(self, key: str, value: object) -> None:
        """Keep `value` under `key`, in one step; where the disk does not take it, nothing is kept."""
        if self.folder is None:
            return
        path = self._place(key)
        scratch = path.with_name(f".{secrets.token_hex(8)}")
        try:
            path.parent.mkdir(parents=True, exist_ok=True)
            _write(scratch, SIGN + bytes.fromhex(key), value)
            scratch.replace(path)
        except OSError:
            pass
        finally:
            with suppress(OSError):
                scratch.unlink()

    def trim(self, most_bytes: int = MOST_BYTES) -> None:
        """Take out what was not used for longest, where all together takes more than `most_bytes`."""
        entries = sorted(self._entries())
        held = sum(size for _, size, _ in entries)
        if held <= most_bytes:
            return
        for _, size, path in entries:
            if held <= KEEPS_AFTER_TRIM * most_bytes:
                return
            try:
                Path(path).unlink(missing_ok=True)
            except OSError:
                continue
            held -= size

    def _place(self, key: str) -> Path:
        """Return where `key` has its entry: in one of 256 folders, so that none grows long."""
        return Path(f"{self.folder}/{key[:2]}/{key[2:]}")

    def _entries(self) -> Iterator[tuple[float, int, str]]:
        """Yield when each entry was last used, its bytes, its path; half-written ones of killed runs too."""
        for top, _, names in os.walk(self.folder or ""):
            for name in names:
                try:
                    told = os.stat(f"{top}/{name}")  # noqa: PTH116
                except OSError:
                    continue
                yield told.st_mtime, told.st_size, f"{top}/{name}"


NO_STORE = Store()


def store_of_user(used: bool = True) -> Store:
    """Return the store in the user's cache folder."""
    # A tenth of what a command without a store takes to begin.
    from platformdirs import user_cache_path

    return Store(user_cache_path("lyewitness", appauthor=False), used)


def digest_of(*parts: object) -> str:
    """Return the SHA-256 of values, records and arrays: the same for equal content, however it came about."""
    sink = _Digest()
    writer = _writer(sink)
    # Without its memory of what it saw, equal things give equal bytes, whether they are one thing or two.
    writer.fast = True
    writer.dump(parts)
    return sink.sha.hexdigest()


def remembered(most: int) -> Callable[[Callable[Source, Made]], Callable[Source, Made]]:
    """Return a decorator: what a function made of equal arguments is not made again by this process.

    Kept are the `most` that were asked for last; nobody may change what is handed out.
    """

    def remembering(make: Callable[Source, Made]) -> Callable[Source, Made]:
        kept: OrderedDict[str, Made] = OrderedDict()

        @wraps(make)
        def made(*source: Source.args, **named: Source.kwargs) -> Made:
            key = digest_of(source, named)
            if key not in kept:
                kept[key] = make(*source, **named)
            kept.move_to_end(key)
            if len(kept) > most:
                kept.popitem(last=False)
            return kept[key]

        return made

    return remembering


@cache
def code_digest() -> str:
    """Return a digest of the program, its themes left out, of the machine and the libraries that weigh in."""
    sha = hashlib.sha256(f"{platform.python_version()} {sys.platform} {platform.machine()}".encode())
    for library in WEIGHING_LIBRARIES:
        try:
            told = version(library)
        except PackageNotFoundError:
            told = "none"
        sha.update(f"{library} {told}\n".encode())
    sha.update(program_digest().encode())
    return sha.hexdigest()


@cache
def program_digest() -> str:
    """Return a digest of the program's own files, its themes left out: what a version number promises."""
    package = Path(__file__).resolve().parent
    sha = hashlib.sha256()
    for path in sorted(package.rglob("*")):
        if path.suffix in (".py", ".json", ".toml") and "themes" not in path.relative_to(package).parts:
            sha.update(f"{path.relative_to(package).as_posix()}\n".encode())
            sha.update(hashlib.sha256(path.read_bytes()).digest())
    return sha.hexdigest()


def folder_digest(folder: Path) -> str:
    """Return a digest of all that a folder holds, names and bytes; links with where they lead.

    Raises OSError where something in it cannot be read.
    """
    return digest_of(sorted(files_in(folder).items()))


def files_in(folder: Path) -> dict[str, tuple[str, str]]:
    """Return, by the path below a folder of all that it holds: where it leads, if a link; SHA-256, if a file.

    Raises OSError where something in it cannot be read.
    """
    found: dict[str, tuple[str, str]] = {}
    for name, led in names_in(folder):
        path, sha = f"{folder}/{name}", ""
        if os.path.isfile(path):  # noqa: PTH113
            with open(path, "rb") as file:  # noqa: PTH123 (half the time of a Path, for thousands)
                sha = hashlib.file_digest(file, "sha256").hexdigest()
        found[name] = (led, sha)
    return found


def names_in(folder: Path) -> Iterator[tuple[str, str]]:
    """Yield the path below a folder of all that it holds, but of folders, and where it leads, if a link.

    Raises OSError where something in it cannot be looked at.
    """

    def fail(error: OSError) -> None:
        raise error

    for top, folders, names in os.walk(folder, onerror=fail):
        folders.sort()
        links = {one for one in (*names, *folders) if os.path.islink(f"{top}/{one}")}  # noqa: PTH114
        below = "" if (inside := os.path.relpath(top, folder)) == "." else f"{inside}/"
        for name in sorted((*names, *(one for one in folders if one in links))):
            yield f"{below}{name}", os.readlink(f"{top}/{name}") if name in links else ""  # noqa: PTH115


class _Digest(io.RawIOBase):
    """A file that hashes what is written to it, and hands it on to another where there is one."""

    def __init__(self, into: BinaryIO | None = None) -> None:
        super().__init__()
        self.sha = hashlib.sha256()
        self._into = into

    def write(self, data: Any) -> int:
        self.sha.update(data)
        if self._into is not None:
            self._into.write(data)
        return len(data)


def _write(path: Path, head: bytes, value: object) -> None:
    """Write an entry as it is pickled: a whole report held in memory once more is a hundred megabytes."""
    with path.open("wb") as file:
        file.write(head + bytes(DIGEST_BYTES))
        sink = _Digest(file)
        _writer(sink).dump(value)
        file.seek(len(head))
        file.write(sink.sha.digest())


def _writer(sink: Any) -> pickle.Pickler:
    writer = pickle.Pickler(sink, protocol=5)
    writer.dispatch_table = _reductions()
    return writer


class _Reductions(dict[type, Callable[[Any], Any]]):
    """How to write what has no plain form of its own; records by the values of their fields, one by one."""

    def __missing__(self, kind: type) -> Callable[[Any], Any]:
        if not is_dataclass(kind) or not kind.__module__.startswith("lyewitness."):
            raise KeyError(kind)
        values_of = _values_of(kind)
        # What has its values from elsewhere is kept as the record that it stands for.
        plain = next(one for one in kind.__mro__ if "__dataclass_fields__" in vars(one))

        # What the library itself does asks each record of thousands for the names of its fields anew.
        def reduce(one: Any) -> Any:
            return _record, (plain, values_of(one))

        self[kind] = reduce
        return reduce


def _record(kind: Any, values: tuple[object, ...]) -> Any:
    """Return a record with these values, in the order of its fields."""
    one = kind.__new__(kind)
    for name, value in zip(_names_of(kind), values, strict=True):
        object.__setattr__(one, name, value)
    return one


@cache
def _names_of(kind: Any) -> tuple[str, ...]:
    """Return the names of a record's fields; TypeError of what is no record."""
    return tuple(field.name for field in fields(kind))


def _values_of(kind: type) -> Callable[[Any], tuple[object, ...]]:
    """Return a function that gives the values of a record's fields, in their order, as quickly as can be."""
    names = _names_of(kind)
    if len(names) > 1:
        return attrgetter(*names)
    return lambda one: tuple(getattr(one, name) for name in names)


def _reductions() -> _Reductions:
    """Return how to write arrays, mappings, paths and records."""
    table = _Reductions(
        {
            MappingProxyType: lambda mapping: (_mapping, (dict(mapping),)),
            type(Path()): lambda path: (_path, (str(path),)),
        }
    )
    # Whoever holds an array has loaded numpy; whoever rebuilds an unchanged report need not.
    if "numpy" in sys.modules:
        import numpy as np

        table[np.ndarray] = _of_array
        for kind in (np.float64, np.float32, np.int64, np.intp, np.bool_, np.str_):
            table[kind] = lambda one: (_scalar, (one.dtype.str, one.tobytes()))
    return table


def _of_array(array: Any) -> Any:
    order = "F" if array.flags.f_contiguous and not array.flags.c_contiguous else "C"
    return _array, (array.dtype.str, array.shape, order, array.tobytes(order))


def _array(dtype: str, shape: tuple[int, ...], order: str, data: bytes) -> Any:
    """Return an array, read-only like every array in a record."""
    import numpy as np

    return np.frombuffer(data, dtype=np.dtype(dtype)).reshape(shape, order=order)  # type: ignore[call-overload]


def _scalar(dtype: str, data: bytes) -> Any:
    import numpy as np

    return np.frombuffer(data, dtype=np.dtype(dtype))[0]


def _mapping(content: Mapping[Any, Any]) -> MappingProxyType[Any, Any]:
    return MappingProxyType(dict(content))


def _path(text: str) -> Path:
    return Path(text)


class _Reader(pickle.Unpickler):
    """Reads entries: of the program's records, and of what `PLAIN_NAMES` lists; all else is refused."""

    def find_class(self, module: str, name: str) -> Any:
        if (module, name) in PLAIN_NAMES:
            return getattr(import_module(module), name)
        if module.startswith("lyewitness.") and name.isidentifier():
            found = getattr(import_module(module), name)
            if isinstance(found, type) and (is_dataclass(found) or issubclass(found, tuple)):
                return found
        raise pickle.UnpicklingError(f"an entry names {module}.{name}")
