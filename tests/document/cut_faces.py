"""The faces of the shipped themes, cut to the signs that pages use.

`python -m tests.document.cut_faces` writes them anew: after a change of `CHARACTERS`, of how fonts are cut,
or of a shipped theme's `[typefaces]`.
"""

from collections.abc import Iterator, Mapping
from pathlib import Path

from lyewitness.document.edition import load_theme
from lyewitness.outputs.assets import CUT_ALREADY, cut_face, cut_name
from lyewitness.shipped import shipped_folder


def shipped_faces() -> Iterator[tuple[Path, str, str, Mapping[str, str]]]:
    """Yield of every face of every shipped theme where it lies, its family, its name, the family's files."""
    for folder in sorted(shipped_folder("themes").iterdir()):
        for family, faces in load_theme(folder.name).typefaces.items():
            for face in faces:
                place = shipped_folder("themes") / CUT_ALREADY / cut_name(family, face, faces)
                yield place, family, face, faces


if __name__ == "__main__":
    for old in (shipped_folder("themes") / CUT_ALREADY).iterdir():
        old.unlink()
    for place, family, face, faces in shipped_faces():
        place.write_bytes(cut_face(family, face, faces))
