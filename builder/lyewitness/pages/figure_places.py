"""On which page each figure has its home.

In: a figure's id and the pages of the report. Out: the path of a page.
"""

from collections.abc import Mapping

from lyewitness.words.names import slug

REST = "figures.html"
"""The page of figures that belong nowhere else."""
ABOUT: Mapping[str, str] = {
    "trace": "injection",
    "waterfall": "column",
    "column": "column",
    "marker": "marker",
    "decline": "marker",
    "survival": "marker",
    "accelerated": "marker",
    "lives": "answer",
}
"""First word of an id, and the kind of thing whose name follows it and whose page is the figure's home."""
HOMES: Mapping[str, str] = {
    "lives": "index.html",
    "first-last": "index.html",
    "decline": "columns/index.html",
    "survival": "columns/index.html",
    "accelerated": "columns/index.html",
    "conditions": "columns/index.html",
    "pressure": "columns/index.html",
    "residuals": "method.html",
    "image": "images.html",
    "pair": "images.html",
    "particles": "images.html",
}
"""First words of an id, and the home of such a figure where it names nothing with a page of its own."""


def home_of(figure_id: str, places: Mapping[tuple[str, str], str]) -> str:
    """Return the page where the figure stands: that of what it names, else that of its kind."""
    first, _, rest = figure_id.partition("-")
    home = _named(rest, ABOUT.get(first, ""), places)
    if home:
        return home
    starts = (start for start in HOMES if figure_id == start or figure_id.startswith(f"{start}-"))
    return next((HOMES[start] for start in starts), REST)


def _named(words: str, kind: str, places: Mapping[tuple[str, str], str]) -> str:
    """Return the page of the longest name of `kind` with which `words` begin; empty where none does."""
    names = {slug(target): page for (one, target), page in places.items() if one == kind}
    longest_first = sorted(names, key=len, reverse=True)
    return next((names[name] for name in longest_first if f"{words}-".startswith(f"{name}-")), "")
