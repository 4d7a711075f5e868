"""The faces of the shipped themes, cut beforehand and put beside the program, which would else cut them.

`python -m tests.cut_faces` writes them anew; the tests ask for it where the way of cutting, or a font, is
another one.
"""

from collections.abc import Iterator

from lyewitness.document.themes import load_theme
from lyewitness.outputs.typefaces import CUT_FACES, cut_name, cut_source, font_rules

THEMES = ("daylight", "journal")


def all_rules() -> Iterator[tuple[str, str]]:
    """Yield the file's name and the rules of each shipped theme, on screen and on paper, cut now."""
    for name in THEMES:
        for on_paper in (False, True):
            source = cut_source(load_theme(name), on_paper)
            yield cut_name(*source), font_rules(source[0], on_paper)


def main() -> None:
    """Write them, and take out those of earlier ways."""
    CUT_FACES.mkdir(exist_ok=True)
    wanted = dict(all_rules())
    for old in CUT_FACES.glob("*.css"):
        if old.name not in wanted:
            old.unlink()
    for name, rules in wanted.items():
        (CUT_FACES / name).write_text(rules, encoding="ascii")


if __name__ == "__main__":
    main()
