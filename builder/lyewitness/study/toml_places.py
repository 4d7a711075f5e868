"""Where a key stands in a TOML file, since the standard reader does not say.

In: the text of a TOML file. Out: line numbers of tables and keys.
"""

import re
from collections import Counter
from collections.abc import Mapping

_HEADER = re.compile(r"^\s*(\[\[?)\s*([^\]]+?)\s*\]\]?\s*(?:#.*)?$")
_KEY = re.compile(r"^\s*([A-Za-z0-9_-]+|\"[^\"]+\")\s*(?:\.[^=]*)?=")


def key_lines(text: str) -> Mapping[str, int]:
    """Return line numbers (from 1) by path: `study.id`, `column[2].length_mm`, `column[2]`.

    Arrays of tables count from 1. Keys inside multi-line strings may be counted by mistake, which can
    only send a reader to a line near the right one.
    """
    lines: dict[str, int] = {}
    seen: Counter[str] = Counter()
    table = ""
    for number, line in enumerate(text.splitlines(), start=1):
        if header := _HEADER.match(line):
            table = header[2].replace('"', "").replace(" ", "")
            if header[1] == "[[":
                seen[table] += 1
                table = f"{table}[{seen[table]}]"
            lines.setdefault(table, number)
        elif key := _KEY.match(line):
            name = key[1].strip('"')
            lines.setdefault(f"{table}.{name}" if table else name, number)
    return lines


def place_of(path: str, lines: Mapping[str, int]) -> str:
    """Return `line 34, column[2].length_mm`, with the line of the nearest table where the key is absent."""
    probe = path
    while probe and probe not in lines:
        probe = probe.rpartition(".")[0]
    return f"line {lines[probe]}, {path}" if probe else path
