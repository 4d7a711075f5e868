"""On which page each figure has its home.

In: a figure's id and the pages of the report. Out: the path of a page.
"""

from collections.abc import Mapping

from lyewitness.pages.slugs import slug

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
    for kind in ("injection", "column", "marker", "answer"):
        home = _named(figure_id, kind, places)
        if home:
            return home
    for start, home in ANYWHERE:
        if figure_id == start or figure_id.startswith(start + "-"):
            return home
    return REST


def _named(figure_id: str, kind: str, places: Mapping[tuple[str, str], str]) -> str:
    """Return the page of the longest name of `kind` that stands as words in the id, after its first."""
    words = f"-{figure_id.partition('-')[2]}-"
    names = {slug(target): page for (one, target), page in places.items() if one == kind}
    longest_first = sorted(names, key=len, reverse=True)
    return next((names[name] for name in longest_first if f"-{name}-" in words), "")
