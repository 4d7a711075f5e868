"""Where the themes, the example study and the fonts lie, in a wheel as in a checkout.

In: nothing. Out: paths.
"""

from collections.abc import Iterator
from functools import lru_cache
from importlib.util import find_spec
from pathlib import Path

FONTS = {
    "font_source_serif_pro": ("files", ("LICENSE.txt",)),
    "font_source_sans_pro": ("files", ("LICENSE.txt",)),
    "matplotlib": ("mpl-data/fonts/ttf", ("LICENSE_STIX", "LICENSE_DEJAVU")),
}
"""Packages with fonts: the folder in which they lie, and their licences there."""


def shipped_folder(name: str) -> Path:
    """Return the folder `name` (`themes` or `example_study`) that came with the program.

    A wheel carries it inside the package; an editable install finds it at the repository's top.
    Raises FileNotFoundError where the installation is incomplete.
    """
    package = Path(__file__).resolve().parent
    for folder in (package / name, package.parent.parent / name):
        if folder.is_dir():
            return folder
    raise FileNotFoundError(f"this installation of lyewitness lacks its folder '{name}'; install it again")


def font_file(name: str) -> Path:
    """Return the font file of this name from a package with fonts; the first that has it.

    Raises FileNotFoundError where none has it.
    """
    for folder in _font_folders():
        if (folder / name).is_file():
            return folder / name
    raise FileNotFoundError(
        f"no package with fonts has '{name}'; install lyewitness again, or name another file"
    )


def font_licences() -> Iterator[Path]:
    """Yield the licences of all fonts."""
    for folder, (_, licences) in zip(_font_folders(), FONTS.values(), strict=True):
        yield from (folder / name for name in licences)


@lru_cache(maxsize=1)
def _font_folders() -> tuple[Path, ...]:
    """Return the folders of fonts, found without importing their packages."""
    found = []
    for package, (below, _) in FONTS.items():
        spec = find_spec(package)
        if spec is None or spec.origin is None:
            raise FileNotFoundError(f"this installation of lyewitness lacks {package}; install it again")
        found.append(Path(spec.origin).parent / below)
    return tuple(found)
