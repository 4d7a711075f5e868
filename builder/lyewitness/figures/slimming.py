"""The same drawing in fewer bytes: a report of hundreds of figures must still fit into a mail.

In: an SVG as matplotlib writes it. Out: an SVG that looks the same to a tenth of a pixel.
"""

import re

_PATH = re.compile(rb' d="([^"]*)"')
_PLACE = re.compile(rb' (?:x|y)="[^"]*"')
_LONG_NUMBER = re.compile(rb"(\d+\.\d)\d+")
_ROUND_NUMBER = re.compile(rb"(\d)\.0\b")
_BETWEEN_TAGS = re.compile(rb">\s+<")
_MARKS = re.compile(rb'(<g clip-path="[^"]*")>((?:<use [^>]*/>){2,})</g>')
_STYLE = re.compile(rb' style="[^"]*"')


def slimmed(svg: bytes) -> bytes:
    """Return `svg` with short numbers, short paths, no blanks between tags, and styles said once."""
    svg = _PATH.sub(lambda found: b' d="' + _short_path(found.group(1)) + b'"', svg)
    svg = _PLACE.sub(lambda found: _short_numbers(found.group()), svg)
    svg = _BETWEEN_TAGS.sub(b"><", svg)
    return _MARKS.sub(_style_once, svg)


def _short_numbers(text: bytes) -> bytes:
    """Cut numbers to tenths."""
    return _ROUND_NUMBER.sub(rb"\1", _LONG_NUMBER.sub(rb"\1", text))


def _short_path(data: bytes) -> bytes:
    """Leave out each `L` behind an `M` or `L`: SVG reads further pairs as lines (SVG 1.1, 8.3.2)."""
    steps = []
    before = b""
    for step in _short_numbers(data).split(b"\n"):
        command = step[:1]
        steps.append(step[2:] if command == b"L" and before in (b"M", b"L") else step)
        before = command
    return b" ".join(step.strip() for step in steps if step)


def _style_once(found: re.Match[bytes]) -> bytes:
    """Move the style that all marks of a group share to the group."""
    styles = set(_STYLE.findall(found.group(2)))
    if len(styles) != 1 or len(_STYLE.findall(found.group(2))) != found.group(2).count(b"<use"):
        return found.group()
    shared: bytes = styles.pop()
    return b"".join((found.group(1), shared, b">", _STYLE.sub(b"", found.group(2)), b"</g>"))
