"""One picture for a light and a dark ground, where two differ in nothing but their colours.

In: the SVG for each ground. Out: one SVG that follows the reader's preference.
"""

import re

COLOUR = re.compile(r"#[0-9a-fA-F]{6}\b")
STYLE = re.compile(r'style="[^"]*"')
HEAD = re.compile(r"<svg\b[^>]*>")


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
