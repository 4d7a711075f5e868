"""Files of the study folder, and no others.

In: a path as the folder states it. Out: the file's bytes or path, or a problem where it is absent or outside.
"""

import hashlib
from dataclasses import dataclass, field
from pathlib import Path, PurePosixPath


@dataclass(slots=True)
class StudyFiles:
    """Reads files below one folder and remembers the SHA-256 of each."""

    folder: Path
    hashes: dict[str, str] = field(default_factory=dict)

    def path_of(self, name: str) -> Path | None:
        """Return the path of `name`; None where it is no file below the folder (links out of it included)."""
        if not name or "\0" in name or PurePosixPath(name).is_absolute():
            return None
        path = (self.folder / PurePosixPath(name.replace("\\", "/"))).resolve()
        inside = path.is_relative_to(self.folder.resolve())
        return path if inside and path.is_file() else None

    def read(self, name: str) -> bytes | None:
        """Return the bytes of `name`, None where it is no file below the folder."""
        path = self.path_of(name)
        if path is None:
            return None
        data = path.read_bytes()
        self.hashes[name] = hashlib.sha256(data).hexdigest()
        return data

    def names_below(self, subfolder: str, pattern: str = "*") -> tuple[str, ...]:
        """Return the files right below `subfolder` as names with `/`, sorted; hidden files are left out."""
        start = self.folder / subfolder if subfolder else self.folder
        if not start.is_dir():
            return ()
        found = (path for path in start.glob(pattern) if path.is_file() and not path.name.startswith("."))
        return tuple(sorted(path.relative_to(self.folder).as_posix() for path in found))
