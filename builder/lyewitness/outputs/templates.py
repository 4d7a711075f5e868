"""Templates, set up once a theme: HTML is escaped, and a name that is missing is an error.

A theme comes from anywhere, so its templates run in a sandbox: they reach no file, module or attribute that
begins with an underscore, change nothing of what they are given, and make no product longer than a page.

In: `Theme`. Out: `Templates`.
"""

import re
from collections import Counter
from collections.abc import Callable, Collection, Mapping, Sequence, Sized
from dataclasses import dataclass, fields, is_dataclass
from html.parser import HTMLParser
from pathlib import Path
from traceback import extract_tb
from types import CodeType
from typing import Any

from jinja2 import (
    BytecodeCache,
    ChoiceLoader,
    DictLoader,
    Environment,
    FileSystemLoader,
    PrefixLoader,
    StrictUndefined,
    TemplateError,
    TemplateSyntaxError,
    select_autoescape,
)
from jinja2.bccache import Bucket
from jinja2.exceptions import SecurityError
from jinja2.runtime import Context
from jinja2.sandbox import ImmutableSandboxedEnvironment
from markupsafe import Markup, escape

from lyewitness.document.blocks import Cell, Row
from lyewitness.document.parts import PARTS
from lyewitness.document.themes import Theme
from lyewitness.shipped import shipped_folder
from lyewitness.words.decoding import printable
from lyewitness.words.problems import Problem, StudyFolderError, listed

MOST_MULTIPLIED = 1_000_000
"""Letters or items that a product in a template may have: more than the largest page, less than harms."""
BEGINS = '<!DOCTYPE html><html lang="en"><head><meta charset="utf-8">'
"""How each document begins: whatever stood before its policy would not be bound by it."""
_BEGINS = re.compile(
    r"\s*<!DOCTYPE html>\s*<html(?: lang=\"[A-Za-z-]+\")?>\s*<head>\s*<meta charset=\"utf-8\">\n?",
    re.IGNORECASE,
)
MISTAKES = (TemplateError, ArithmeticError, LookupError, MemoryError, RecursionError, TypeError, ValueError)
"""What a template of the user's own may end in."""


@dataclass(frozen=True, slots=True)
class Templates:
    """The templates of one theme."""

    theme: Theme
    environment: Environment

    def fill(self, name: str, values: Mapping[str, Any]) -> str:
        """Return the template `name` with `values` set in.

        Raises StudyFolderError, with file and line, for a mistake in a template that did not come with the
        program.
        """
        try:
            return self.environment.get_template(name).render(values)
        except MISTAKES as error:
            places = self._mistaken(error)
            if not places:
                raise
            raise StudyFolderError((_mistake(places, error, self.theme),)) from error

    def page(self, name: str, values: Mapping[str, Any], policy: str) -> str:
        """Return a document that bears `policy` before anything in it that could run or be loaded.

        The policy is no matter of a theme, whose templates could leave it out. Raises StudyFolderError as
        `fill`, and where a template lets something stand before the head.
        """
        return self.guarded(self.fill(name, values), name, policy)

    def guarded(self, html: str, name: str, policy: str) -> str:
        """Return a document, made of the template `name`, with a policy at the head of its head."""
        begins = _BEGINS.match(html)
        if begins is None:
            found, cure = "a page that begins otherwise", "Begin as 'daylight' does, or extend its template."
            place = str(self.theme.folders[0] / "templates" / name)
            raise StudyFolderError((Problem("error", place, "line 1", found, BEGINS, cure),))
        if line := _steering_line(html):
            place = str(self.theme.folders[0] / "templates" / name)
            found, cure = (
                "a meta tag with http-equiv",
                "Take it out: no policy holds a page that leads elsewhere.",
            )
            raise StudyFolderError((Problem("error", place, f"line {line} as filled", found, "none", cure),))
        meta = f'<meta http-equiv="Content-Security-Policy" content="{policy}">\n'
        return html[: begins.end()] + meta + html[begins.end() :]

    def _mistaken(self, error: Exception) -> list[tuple[str, int]]:
        """Return file and line of each template of the user's own on the way to a mistake."""
        frames = [(frame.filename, frame.lineno or 0) for frame in extract_tb(error.__traceback__)]
        if isinstance(error, TemplateSyntaxError):
            frames.append((error.filename or "", error.lineno))
        shipped = shipped_folder("themes").resolve()
        own = [folder for folder in self.theme.folders if not folder.is_relative_to(shipped)]
        return [one for one in frames if any(Path(one[0]).is_relative_to(folder) for folder in own)]


class _Steering(HTMLParser):
    """Finds what tells a browser more than a page shows, such as to turn to another after a second."""

    line = 0

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        """Keep the line of the first such tag."""
        if tag == "meta" and not self.line and any(key == "http-equiv" for key, _ in attrs):
            self.line = self.getpos()[0]


def _steering_line(html: str) -> int:
    """Return the line of the first tag that steers a browser; 0 for none."""
    if "http-equiv" not in html.lower():
        return 0
    parser = _Steering()
    parser.feed(html)
    return parser.line


class _Sandbox(ImmutableSandboxedEnvironment):
    """A sandbox that asks once for each kind of thing and attribute whether it may be reached.

    The answer depends on no more than these, and a report of 2,000 injections asks two million times.
    """

    intercepted_binops = frozenset({"*", "**"})

    def __init__(self, **options: Any) -> None:
        super().__init__(**options)
        self._asked: dict[tuple[type, str], bool] = {}
        self._plain: set[tuple[type, str]] = set()
        """Fields of records: no `format` of a text, which has to be looked into each time."""

    def call_binop(self, context: Context, operator: str, left: Any, right: Any) -> Any:
        """Return a product or power, unless it would fill the memory."""
        grows = operator == "**" or isinstance(left, Sized) or isinstance(right, Sized)
        if grows and _size(left) * _size(right) > MOST_MULTIPLIED:
            raise SecurityError(f"a product of more than {MOST_MULTIPLIED} letters or items")
        return super().call_binop(context, operator, left, right)

    def getattr(self, obj: Any, attribute: str) -> Any:
        """Return what a template asks for; a field of the program's records without asking further."""
        if (type(obj), attribute) in self._plain:
            return getattr(obj, attribute)
        return super().getattr(obj, attribute)

    def is_safe_attribute(self, obj: Any, attr: str, value: Any) -> bool:
        """Return whether templates may reach `attr` of such a thing."""
        kind = type(obj)
        if (kind, attr) not in self._asked:
            self._asked[kind, attr] = safe = super().is_safe_attribute(obj, attr, value)
            if safe and is_dataclass(kind) and any(one.name == attr for one in fields(kind)):
                self._plain.add((kind, attr))
        return self._asked[kind, attr]


def _size(factor: Any) -> float:
    """Return the length of a text or list, or how large a number is."""
    return len(factor) if isinstance(factor, Sized) else abs(float(factor))


class _Compiled(BytecodeCache):
    """Keeps what templates were compiled to while the program runs: half a second for all of them.

    The sum of a template's text is part of the key, so one that has changed is compiled anew.
    """

    def __init__(self) -> None:
        self._code: dict[tuple[str, str], CodeType] = {}

    def load_bytecode(self, bucket: Bucket) -> None:
        """Put into the bucket what its text was compiled to before."""
        bucket.code = self._code.get((bucket.key, bucket.checksum))

    def dump_bytecode(self, bucket: Bucket) -> None:
        """Keep what the text was compiled to."""
        if bucket.code is not None:
            self._code[bucket.key, bucket.checksum] = bucket.code


_COMPILED = _Compiled()


def templates_of(theme: Theme) -> Templates:
    """Return the templates of `theme`: each is taken from the nearest folder that has it.

    Each part and each of its pages has a template of its name, which is `part.html` where no theme has one.
    A theme that changes part of a template it inherits extends it by the name of its folder:
    `{% extends "daylight/base.html" %}`.
    """
    own = DictLoader({f"{name}.html": '{% extends "part.html" %}' for name in _parts()})
    folders = [folder / "templates" for folder in theme.folders]
    by_name = {
        folder.name: ChoiceLoader([FileSystemLoader(folder / "templates"), own]) for folder in theme.folders
    }
    environment = _Sandbox(
        loader=ChoiceLoader([FileSystemLoader(folders), own, PrefixLoader(by_name)]),
        autoescape=select_autoescape(disabled_extensions=("txt",), default=True),
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
        keep_trailing_newline=True,
        finalize=shown,
        # No template changes while a report is built.
        auto_reload=False,
        bytecode_cache=_COMPILED,
    )
    environment.globals["plain_cells"] = plain_cells
    environment.filters["hyphenable"] = hyphenable
    return Templates(theme, environment)


def _parts() -> set[str]:
    """Return the names of templates that a theme may hold for parts and their pages."""
    return {name for row in PARTS for name in (row.key, row.each) if name}


def _mistake(places: Sequence[tuple[str, int]], error: Exception, theme: Theme) -> Problem:
    file, line = places[-1]
    if isinstance(error, RecursionError):
        return _endless(places, theme)
    cure = "Mend the template, or remove it: the inherited one takes its place."
    return Problem("error", file, f"line {line}", str(error), "a template that can be filled", cure)


def _endless(places: Sequence[tuple[str, int]], theme: Theme) -> Problem:
    """Return what to say of templates that lead back to themselves; `places` are the ways gone, in turn."""
    file, line = places[-1]
    name = Path(file).name
    # What was passed but once led there, and is no part of the round.
    often = Counter(path for path, _ in places)
    by_way = [Path(path).name for path, count in often.items() if count > 1 and path != file]
    found = f"'{name}' leads back to itself" + (f" by way of {listed(by_way)}" if by_way else "")
    above = [one.name for one in theme.folders[1:] if (one / "templates" / name).is_file()]
    # Every theme has a template for each part, though most have no file for it.
    above += [theme.folders[-1].name] if name.removesuffix(".html") in _parts() else []
    inherited = next(iter(above), "")
    named = f'To change what is inherited, name its theme: {{% extends "{inherited}/{name}" %}}. Else take'
    cure = f"{named if inherited else 'Take'} out what calls it again."
    return Problem("error", file, f"line {line}", found, "a template that comes to an end", cure)


def plain_cells(row: Row, to: Callable[[str], Markup]) -> Markup:
    """Return the cells of a row as its table writes them; nothing where one of them is not plain.

    Plain is what is words, a number or a link. Half of all that templates write is such cells, a million for
    2,000 injections: so it took three times as long. `to` makes the attributes of a link.
    """
    if row.struck or any(cell.mark or cell.title or cell.proof for cell in row.cells):
        return Markup()
    tags = ['th scope="row"', *("td" for _ in row.cells[1:])]
    cells = [
        f"<{tag}{_classes(cell)}{_key(cell)}>{_linked(cell, to)}</{tag[:2]}>"
        for tag, cell in zip(tags, row.cells, strict=True)
    ]
    return Markup("\n".join(cells))


def _classes(cell: Cell) -> str:
    """Return the attribute that says how a cell is set."""
    if cell.number or cell.held:
        return f' class="{"number" if cell.number else "held"} {_escaped(cell.pad)}"'
    return f' class="{_escaped(cell.pad)}"' if cell.pad else ""


def _key(cell: Cell) -> str:
    return f' data-key="{_escaped(cell.key)}"' if cell.key else ""


def _linked(cell: Cell, to: Callable[[str], Markup]) -> str:
    text = _escaped(cell.text)
    return f"<a{to(cell.href)}>{text}</a>" if cell.href else text


def _escaped(text: str) -> Markup:
    """Return a text as a template writes it."""
    return escape(shown(text))


def shown(value: object) -> object:
    """Return text as a document can hold it, with thin spaces at which no line breaks."""
    # Most words are plain and short, and a report of 2,000 injections has two million of them.
    if not isinstance(value, str) or (" " not in value and value.isascii() and value.isprintable()):
        return value
    text = printable(value).replace("\u2009", "\u202f")
    if " + " in text and not isinstance(value, Markup):
        # `silica + guard` is one name. Styles, in which a plus means something, are marked up.
        text = text.replace(" + ", "\u00a0+\u00a0")
    # What is marked up may be a script that is known by its hash: who marks words up keeps these together.
    return Markup(text) if isinstance(value, Markup) else kept_together(text)


_APART = re.compile(
    r"(?<=\d) (?=(?:°C|%|h|min|mL|µL|mm|µm|nm|bar|mmol|mg|kPa|MPa)(?![\w]))"
    r"|(?<=\bpH) (?=\d)|(?<=±) (?=\d)"
)


_INTERVAL = re.compile(r"\([\d.,−\u202f]{1,9} to [\d.,−\u202f]{1,9}(?=[)%])")
"""Of longer ones and of those in words, a line of a phone has to break."""


def kept_together(html: str) -> str:
    """Return `html` without a break between a number and its unit, in `pH 11.0` or `(3.8 to 4.6)`."""
    if " to " in html:
        html = _INTERVAL.sub(lambda found: found.group().replace(" ", "\u00a0"), html)
    return _APART.sub("\u202f", html)


_LONG = re.compile(r"\w{14,}")
"""A word that is wider than a column of five on a telephone."""
_JOINT = re.compile(r"(?<=[a-z]{2}yl)(?=[a-z]{4})")


def hyphenable(text: str) -> str:
    """Return `text` with soft hyphens in long names of compounds, behind each `…yl`: few browsers know where
    `dimethylbenzylamine` may break, and the head of a narrow column breaks it anywhere."""
    return _LONG.sub(lambda word: _JOINT.sub("\u00ad", word.group()), text)


LONGEST_WHOLE = 20
"""Letters of a name that a line of the narrowest column holds, 24 mm: a longer one has to break."""
_WORDS = re.compile(r"(?<=>)[^<>]*-[^<>]*(?=<)")
_HYPHENED = re.compile(r"(?<![\w-])\w+(?:-\w+)+(?![\w-])")


_LED = re.compile(r'<a(?P<link>\b[^<>]*)><span class="whole">(?P<name>[^<]*)</span>(?P<end>(?:</a>)?)')


def names_whole(html: str, names: Collection[str]) -> str:
    """Return a page whose lines do not break at the hyphens of `names`: `G1-` above `after` is no name."""

    def whole(found: re.Match[str]) -> str:
        name = found.group()
        short = len(name) <= LONGEST_WHOLE and name in names
        return f'<span class="whole">{name}</span>' if short else name

    head, opens, body = html.partition("<body")
    body = _WORDS.sub(lambda words: _HYPHENED.sub(whole, words.group()), body)
    return head + opens + _LED.sub(_led_whole, body)


def _led_whole(led: re.Match[str]) -> str:
    """Return a link that begins with a name: kept whole by itself where that is all, else not at all.

    Where a line broke between a link and what is kept whole in it, the PDF had a link of no words.
    """
    if led["end"] and " class=" not in led["link"]:
        return f'<a class="whole"{led["link"]}>{led["name"]}</a>'
    return f"<a{led['link']}>{led['name']}{led['end']}"


_SAID = re.compile(
    r"<(?P<tag>script|style|svg|option|textarea)\b.*?</(?P=tag)>|(?<=>)(?P<words>[^<>]*-\d[^<>]*)(?=<)", re.S
)
"""What stands between tags on a page, but where no markup can stand."""
_NUMBERED = re.compile(r"(?<![\w-])[A-Za-z]\w{0,7}-\d{1,4}(?![\w-])")
"""`G1-18`: a name that ends in its number, as those of injections do."""


def numbered_whole(html: str) -> str:
    """Return a page for the screen whose lines do not break before the number of a name.

    Its part alone makes a page, so what the study calls its injections is not known here.
    """

    def whole(said: re.Match[str]) -> str:
        if said["tag"]:
            return said.group()
        return _NUMBERED.sub(lambda name: f'<span class="whole">{name.group()}</span>', said["words"])

    head, opens, body = html.rpartition("<main")
    return head + opens + _SAID.sub(whole, body)


_WAY = re.compile(
    r"(?P<what>plate number(?:</a>)?)[ \u00a0\u202f]"
    r"\((?:<a [^<>]*>)?(?P<way>[A-Za-z ]+)(?:</a>)?\)(?=[^<>]*<)"
)
"""How plates were counted, in running text: nothing within a tag."""


def told_once(html: str) -> str:
    """Return a page on which the way of counting plates is told once, where there is one way only."""
    head, main, body = html.rpartition("<main")
    if len({found["way"] for found in _WAY.finditer(body)}) != 1:
        return html
    first = next(_WAY.finditer(body)).end()
    return head + main + body[:first] + _WAY.sub(lambda found: found["what"], body[first:])
