"""Templates, set up once a theme: HTML is escaped, and a name that is missing is an error.

A theme comes from anywhere, so its templates run in a sandbox: they reach no file, module or attribute that
begins with an underscore, and change nothing of what they are given.

In: `Theme`. Out: a jinja2 `Environment`.
"""

from jinja2 import (
    ChoiceLoader,
    DictLoader,
    Environment,
    FileSystemLoader,
    PrefixLoader,
    StrictUndefined,
    select_autoescape,
)
from jinja2.sandbox import ImmutableSandboxedEnvironment
from markupsafe import Markup

from lyewitness.document.parts import PARTS
from lyewitness.document.themes import Theme
from lyewitness.words.characters import printable


def environment_of(theme: Theme) -> Environment:
    """Return the environment of `theme`: a template is taken from the nearest folder that has it.

    Each part and each of its pages has a template of its name, which is `part.html` where no theme has one.

    A theme that changes part of a template it inherits extends it by the name of its folder:
    `{% extends "daylight/base.html" %}`.
    """
    own = DictLoader({f"{name}.html": '{% extends "part.html" %}' for name in _parts()})
    folders = [folder / "templates" for folder in theme.folders]
    by_name = {
        folder.name: ChoiceLoader([FileSystemLoader(folder / "templates"), own]) for folder in theme.folders
    }
    return ImmutableSandboxedEnvironment(
        loader=ChoiceLoader([FileSystemLoader(folders), own, PrefixLoader(by_name)]),
        autoescape=select_autoescape(disabled_extensions=("txt",), default=True),
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
        keep_trailing_newline=True,
        finalize=shown,
    )


def _parts() -> set[str]:
    """Return the names of templates that a theme may hold for parts and their pages."""
    return {name for row in PARTS for name in (row.key, row.each) if name}


def shown(value: object) -> object:
    """Return text as a document can hold it, with thin spaces at which no line breaks."""
    if not isinstance(value, str):
        return value
    text = printable(value).replace("\u2009", "\u202f")
    return Markup(text) if isinstance(value, Markup) else text
