"""One picture for a light and a dark ground, where two differ in nothing but their colours.

In: the SVG for each ground. Out: one SVG that follows the reader's preference: half the bytes of two.
"""

import re
from dataclasses import replace

from lyewitness.figures.records import Figure

COLOUR = re.compile(r"#[0-9a-fA-F]{6}\b")
STYLE = re.compile(r'style="[^"]*"')
HEAD = re.compile(r"<svg\b[^>]*>")


def on_both_grounds(figure: Figure) -> Figure:
    """Return the figure with one picture for both grounds in the place of two, where that can be done.

    For screens only: what sets the PDF does not know custom properties.
    """
    wide, narrow = _one(figure.data, figure.dark), _one(figure.narrow, figure.narrow_dark)
    return replace(figure, data=wide[0], dark=wide[1], narrow=narrow[0], narrow_dark=narrow[1])


def _one(light: bytes, dark: bytes) -> tuple[bytes, bytes]:
    """Return (picture, nothing) where one serves both grounds, else what was given."""
    if not dark or b"<svg" not in light[:1000]:
        return light, dark
    both = for_both_grounds(light.decode(), dark.decode())
    return (both.encode(), b"") if both else (light, dark)


def for_both_grounds(light: str, dark: str) -> str | None:
    """Return one SVG with both sets of colours; None where the two differ in more than styles' colours."""
    if COLOUR.sub("", light) != COLOUR.sub("", dark):
        return None
    pairs = list(zip(COLOUR.findall(light), COLOUR.findall(dark), strict=True))
    names = {pair: f"--c{place}" for place, pair in enumerate(dict.fromkeys(pairs))}
    if STYLE.sub("", light) != STYLE.sub("", dark):
        return None
    following = iter(COLOUR.findall(dark))
    places = {found.start(): names[found.group(), next(following)] for found in COLOUR.finditer(light)}

    def named(style: re.Match[str]) -> str:
        start = style.start()
        return COLOUR.sub(lambda one: f"var({places[start + one.start()]})", style.group())

    both = STYLE.sub(named, light)
    head = HEAD.search(both)
    if head is None:
        return None
    return f"{both[: head.end()]}<style>{_rules(names)}</style>{both[head.end() :]}"


def _rules(names: dict[tuple[str, str], str]) -> str:
    """Return the colours of both grounds as custom properties."""
    light = ";".join(f"{name}:{pair[0]}" for pair, name in names.items())
    dark = ";".join(f"{name}:{pair[1]}" for pair, name in names.items())
    return f":root{{{light}}}@media (prefers-color-scheme:dark){{:root{{{dark}}}}}"
