"""What a caption says of the letters that stand for events.

In: a caption. Out: its words for them. Nothing here draws, and nothing that draws is loaded.
"""

import re

FOOT = "At the foot:"
"""Behind this a caption tells what letters stand for, in its last sentence."""


def letters_told(caption: str) -> str:
    """Return what a caption says of the letters at the foot, without times; nothing where it has none."""
    found = re.search(rf"{FOOT} a, .*", caption)
    return re.sub(r" \([^()]*\)(?=[;.])", "", found.group()) if found else ""
