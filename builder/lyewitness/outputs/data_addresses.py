"""A file as an address that holds it.

In: a path and bytes. Out: a `data:` address (RFC 2397), as short as it can be without loss.
"""

import re
from base64 import b64encode
from urllib.parse import quote

KINDS = {
    "csv": "text/csv",
    "json": "application/json",
    "svg": "image/svg+xml",
    "png": "image/png",
    "jpg": "image/jpeg",
}
SAFE = "!$'()*+,-./:;=?@_~"
"""Characters that need no escape in an address between double quotes (RFC 3986, 3.3 and 3.4)."""
PATH = re.compile(r'(?<= d=")[^"]*(?=")')
COMMAND = re.compile(r"\s*([MmLlHhVvCcSsQqTtAaZz])\s*")
BEFORE_SIGN = re.compile(r"[\s,]+(?=-)")
BETWEEN = re.compile(r"[\s,]+")


def data_address(path: str, content: bytes) -> str:
    """Return `content` as an address: escaped text where that is shorter, else base 64."""
    ending = path.rpartition(".")[2].lower()
    kind = KINDS.get(ending, "application/octet-stream")
    text = _short(content.decode()).encode() if ending == "svg" else content
    told = (f"data:{kind},{quote(text, safe=SAFE)}", f"data:{kind};base64,{b64encode(text).decode()}")
    return min(told, key=len)


def _short(svg: str) -> str:
    """Return the same picture in fewer characters, and fewer that an address must escape."""
    text = " ".join(PATH.sub(lambda path: short_path(path.group()), svg).split())
    return text if "'" in text else text.replace('"', "'")


def short_path(path: str) -> str:
    """Return SVG path data without blanks: none around commands and signs, commas between numbers.

    Source: SVG 1.1, 8.3.9, the grammar of path data.
    """
    joined = COMMAND.sub(r"\1", path.strip())
    return BETWEEN.sub(",", BEFORE_SIGN.sub("", joined))
