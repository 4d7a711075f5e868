"""On which page each figure has its home.

In: a figure's id and the pages of the report. Out: the path of a page.
"""

from collections.abc import Mapping

FRONT = "index.html"
REST = "figures.html"
"""The page of figures that belong nowhere else."""

ANYWHERE = (
    ("lives", FRONT),
    ("first-last", FRONT),
    ("audit", "audit.html"),
    ("conditions", "columns/index.html"),
    ("waterfall", "columns/index.html"),
    ("image", "images.html"),
    ("particles", "images.html"),
    ("chemistry", "chemistry.html"),
    ("accelerated", "columns/index.html"),
)
"""Start of an id and the page where such a figure stands, unless it names something with a page."""


def home_of(figure_id: str, places: Mapping[tuple[str, str], str]) -> str:
    """Return the page where the figure stands: that of what it names, else that of its kind."""
    for kind in ("injection", "column", "marker"):
        home = _named(figure_id, kind, places)
        if home:
            return home
    for start, home in ANYWHERE:
        if figure_id == start or figure_id.startswith(start + "-"):
            return home
    return REST


def _named(figure_id: str, kind: str, places: Mapping[tuple[str, str], str]) -> str:
    """Return the page of the longest slug of `kind` that stands as words in the id, after its first."""
    padded = f"-{figure_id.partition('-')[2]}-"
    pages = [page for (one, _), page in places.items() if one == kind]
    slugs = sorted(pages, key=len, reverse=True)
    return next((page for page in slugs if f"-{_stem(page)}-" in padded), "")


def _stem(page: str) -> str:
    return page.rpartition("/")[2].removesuffix(".html")
