"""A bag as a folder, a zip or a tar.gz: written the same byte for byte, read without unpacking to the disk.

In: files by path, or the path of a bag. Out: bytes, or a `Bag`. What an archive holds under a path that
leads out of it is refused: it never reaches a disk.
"""

import gzip
import io
import posixpath
import stat
import tarfile
import zipfile
import zlib
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path

from lyewitness.outputs.marks import PlaceTakenError, file_target, origin_of, taken
from lyewitness.outputs.placing import place_files
from lyewitness.words.problems import told_plainly

ENDINGS = (".zip", ".tar.gz", ".tgz")
# Dates within archives: the first that a zip can tell, so that the same files give the same bytes.
_ZIP_DATE = (1980, 1, 1, 0, 0, 0)
_MOST_BYTES = 1 << 30
"""Beyond this an archive is not held in memory; a study of 200 injections stays below a twentieth of it."""
_MOST_PRESSED = 200
"""What unpacks to more than so many times its size was made to fill memories: exports press to a tenth."""
_SMALL_BYTES = 64 << 20
"""Up to so much is unpacked however hard it was pressed."""


_DAMAGES = (EOFError, tarfile.TarError, zipfile.BadZipFile, zipfile.LargeZipFile, zlib.error, RuntimeError)
"""What the standard library raises for an archive that is damaged, cut short, locked, or none."""


class NoBagError(PlaceTakenError):
    """What was named is no bag, or cannot be read; the message says what to do."""


@dataclass(frozen=True, slots=True)
class Bag:
    """The files of one bag by path, wherever they lie."""

    place: Path
    files: Mapping[str, bytes]
    odd: tuple[str, ...] = ()
    """What lies in the bag and is no plain file: links, pipes, devices, by path. None of it is followed."""

    @property
    def info(self) -> Mapping[str, str]:
        """Return the lines of bag-info.txt by their label; of a label given twice the last."""
        text = self.files.get("bag-info.txt", b"").decode("utf-8", "replace")
        return dict(line.split(": ", 1) for line in text.splitlines() if ": " in line)

    def below(self, folder: str) -> dict[str, bytes]:
        """Return the files below a folder such as `data/report/`, by path from there."""
        return {
            name.removeprefix(folder): data for name, data in self.files.items() if name.startswith(folder)
        }


def is_packed(path: Path) -> bool:
    """Return whether a bag of that name is one file."""
    return path.name.lower().endswith(ENDINGS)


def packed(files: Mapping[str, bytes], name: str) -> bytes:
    """Return the files as a zip or tar.gz, by the ending of `name`, below a folder of its stem."""
    top = name
    for ending in ENDINGS:
        top = top[: -len(ending)] if top.lower().endswith(ending) else top
    named = {f"{top or 'bag'}/{path}": files[path] for path in sorted(files)}
    return _zipped(named) if name.lower().endswith(".zip") else _tarred(named)


def bag_target(typed: Path, study: Path) -> Path:
    """Return the full path of a bag that is to be one file; raises PlaceTakenError."""
    ending = next(one for one in ENDINGS if typed.name.lower().endswith(one))
    return file_target(typed, f".{ending.rpartition('.')[2]}", study)


def refuse_bag(target: Path) -> None:
    """Raise PlaceTakenError where a file stands that is no bag of this program; `place_bag` looks closer."""
    if target.exists() and not _is_ours(target):
        raise PlaceTakenError(taken(target, "what is no bag of this program"))


def _is_ours(target: Path) -> bool:
    """Return whether a file is a bag that this program packed."""
    try:
        return read_bag(target).info.get("Bag-Software-Agent", "").startswith("lyewitness")
    except NoBagError:
        return False


def place_bag(files: Mapping[str, bytes], target: Path, study: str, force: bool = False) -> Path | None:
    """Pack a bag and write it in one step, in the place of an earlier one of the study that is still whole.

    Raises PlaceTakenError where anything else lies there; with `force` that is kept beside, and its path
    returned.
    """

    def foreign() -> dict[Path, str]:
        if not target.exists() or _is_earlier(target, study, files):
            return {}
        return {target: taken(target, f"what is no earlier bag of study '{study}'")}

    return next(iter(place_files({target: packed(files, target.name)}, foreign, force)), None)


def _is_earlier(target: Path, study: str, fresh: Mapping[str, bytes]) -> bool:
    """Return whether a file is a bag of this study that this program packed, and nobody packed anew."""
    try:
        bag = read_bag(target)
    except NoBagError:
        return False
    stood, origin = (origin_of(files) for files in (bag.files, fresh))
    if stood and origin and stood.is_of_another(origin):
        return False
    return (
        _is_ours(target)
        and bag.info.get("External-Identifier") == study
        and packed(bag.files, target.name) == target.read_bytes()
    )


def read_bag(path: Path) -> Bag:
    """Return the bag at a path; raises NoBagError where there is none that can be read."""
    try:
        if path.is_dir():
            held = dict(_in_folder(path))
        elif path.is_file():
            held = _topless(dict(_in_archive(path)))
        else:
            raise NoBagError(f"'{path}' does not exist; name the folder, .zip or .tar.gz of a bag")
    except (OSError, *_DAMAGES) as error:
        why = getattr(error, "strerror", None) or told_plainly(error)
        damaged = "it is damaged, or no archive; fetch another copy of it"
        raise NoBagError(f"'{path}' cannot be read ({why}): {damaged}") from error
    files = {name: data for name, data in held.items() if data is not None}
    if "bagit.txt" not in files:
        raise NoBagError(f"'{path}' is no bag: it holds no bagit.txt; name what 'lyewitness archive' wrote")
    return Bag(path, files, tuple(sorted(held.keys() - files.keys())))


def _zipped(files: Mapping[str, bytes]) -> bytes:
    held = io.BytesIO()
    with zipfile.ZipFile(held, "w") as archive:
        for name, data in files.items():
            entry = zipfile.ZipInfo(name, _ZIP_DATE)
            entry.compress_type = zipfile.ZIP_DEFLATED
            entry.create_system, entry.external_attr = 3, 0o644 << 16
            archive.writestr(entry, data)
    return held.getvalue()


def _tarred(files: Mapping[str, bytes]) -> bytes:
    held = io.BytesIO()
    with (
        gzip.GzipFile(filename="", mode="wb", fileobj=held, mtime=0) as pressed,
        tarfile.open(fileobj=pressed, mode="w", format=tarfile.PAX_FORMAT) as archive,
    ):
        for name, data in files.items():
            entry = tarfile.TarInfo(name)
            entry.size, entry.mode = len(data), 0o644
            archive.addfile(entry, io.BytesIO(data))
    return held.getvalue()


def _in_folder(folder: Path) -> Iterator[tuple[str, bytes | None]]:
    """Yield the files of a folder by path, and what is no plain file with nothing."""
    for path in sorted(folder.rglob("*")):
        if path.is_symlink() or not path.is_dir():
            plain = path.is_file() and not path.is_symlink()
            yield path.relative_to(folder).as_posix(), path.read_bytes() if plain else None


def _in_archive(path: Path) -> Iterator[tuple[str, bytes | None]]:
    """Yield the plain files of an archive, not too many bytes of them, and what is none with nothing."""
    left = min(_MOST_BYTES, max(_SMALL_BYTES, _MOST_PRESSED * path.stat().st_size))
    if zipfile.is_zipfile(path):
        with zipfile.ZipFile(path) as pressed:
            for one in pressed.infolist():
                left = _counted(path, left, one.file_size)
                if not one.is_dir():
                    yield _safe(path, one.filename), None if _is_link(one) else pressed.read(one)
        return
    last = ""
    try:
        with tarfile.open(path) as archive:
            for entry in archive:
                left = _counted(path, left, entry.size)
                if not entry.isdir():
                    held = archive.extractfile(entry) if entry.isfile() else None
                    yield _safe(path, entry.name), held.read() if held is not None else None
                    last = entry.name
    except _DAMAGES as error:
        if not last:
            raise
        what = f"'{path}' cannot be read behind '{last}' ({told_plainly(error)})"
        raise NoBagError(f"{what}: it was cut short or damaged; fetch another copy of it") from error


def _is_link(entry: zipfile.ZipInfo) -> bool:
    """Whether an entry of a zip stands for a link."""
    return stat.S_ISLNK(entry.external_attr >> 16)


def _counted(path: Path, left: int, size: int) -> int:
    if size > left:
        raise NoBagError(
            f"'{path}' unpacks to more than {_MOST_BYTES >> 30} GB, or {_MOST_PRESSED} times its "
            "size; where you trust it, unpack it and name the folder"
        )
    return left - size


def _safe(path: Path, name: str) -> str:
    """Return a path within an archive; raises NoBagError for one that leads out of it."""
    plain = posixpath.normpath(name.replace("\\", "/"))
    if plain.startswith(("../", "/")) or plain == ".." or ":" in plain.split("/", maxsplit=1)[0]:
        raise NoBagError(f"'{path}' holds '{name}', which leads out of it; do not unpack it")
    return plain


def _topless(files: Mapping[str, bytes | None]) -> dict[str, bytes | None]:
    """Return the files without the one folder that holds them all."""
    tops = {name.partition("/")[0] for name in files}
    if "bagit.txt" in files or len(tops) != 1:
        return dict(files)
    return {name.partition("/")[2]: data for name, data in files.items()}
