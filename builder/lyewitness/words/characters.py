"""Characters that a study's own words may hold and that no page, drawing or letter can.

In: text. Out: text that HTML, SVG and PDF can hold, and that turns no words but its own.
"""

import re

# What XML 1.0 cannot hold (production 2, Char), and so neither SVG nor the metadata of a PDF; tabulator and
# line breaks stay. Codes 7F to 9F are allowed there, but HTML forbids them (13.2.3.5).
_FORBIDDEN = "\x00-\x08\x0b\x0c\x0e-\x1f\x7f-\x9f\ud800-\udfff\ufffe\uffff"
# What turns the direction of all that follows it, in the rest of a sentence as well (UAX #9, 2.1 to 2.4);
# letters that run from right to left keep their own direction without it.
_TURNING = "\u202a-\u202e\u2066-\u2069"
_UNPRINTABLE = re.compile(f"[{_FORBIDDEN}{_TURNING}]")


def printable(text: str) -> str:
    """Return `text` without the characters that a document cannot hold or that would turn its neighbours."""
    return _UNPRINTABLE.sub("", text) if _UNPRINTABLE.search(text) else text
