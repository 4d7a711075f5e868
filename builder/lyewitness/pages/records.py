"""A page of the site as text.

In: text rendered by this stage. Out: `Page`.
"""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Page:
    """One text file of the site."""

    path: str
    """Path below the report, with `/`, such as `columns/H1.html`."""
    text: str
