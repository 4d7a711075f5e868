"""All files of a report's site, gathered before anything is written.

In: pages, figures, assets and data as text and bytes. Out: files by path below the report.
"""

from collections.abc import Iterable, Mapping

from lyewitness.document.edition import figure_files
from lyewitness.figures.records import Figure
from lyewitness.outputs.pages import Page


def site_files(
    pages: Iterable[Page],
    figures: Iterable[Figure],
    assets: Mapping[str, bytes],
    data: Mapping[str, bytes],
) -> dict[str, bytes]:
    """Return every file of the site by path, sorted; the variants of a figure bear `-dark`, `-narrow`.

    Raises ValueError where two of them want the same path: that would be a mistake of the program.
    """
    files: dict[str, bytes] = {}
    for name, content in _all(pages, figures, assets, data):
        if name in files:
            raise ValueError(f"two files of the report want the path '{name}'")
        files[name] = content
    return dict(sorted(files.items()))


def _all(
    pages: Iterable[Page], figures: Iterable[Figure], assets: Mapping[str, bytes], data: Mapping[str, bytes]
) -> Iterable[tuple[str, bytes]]:
    """Yield every path with its bytes."""
    for page in pages:
        yield page.path, page.text.encode("utf-8")
    yield from figure_files(figures)
    yield from assets.items()
    yield from data.items()
