"""XML as exports have it, taken element by element.

In: the bytes of a file, a parser with a reader's handlers. Out: what the handlers gathered. A document type
is refused as soon as it is met, so that no entity is ever expanded or fetched.
"""

from xml.parsers import expat

from lyewitness.traces.shaping import unreadable
from lyewitness.words.problems import shortened, told_plainly


class _DocumentTypeError(Exception):
    """The file declares a document type."""


def new_parser() -> expat.XMLParserType:
    """Return a parser that hands over names as `namespace name`, and whole texts."""
    parser = expat.ParserCreate(namespace_separator=" ")
    parser.buffer_text = True
    parser.StartDoctypeDeclHandler = _refuse
    return parser


def parse(parser: expat.XMLParserType, data: bytes, file: str, format_name: str) -> None:
    """Run the handlers of `parser` over a file; raises StudyFolderError with line and column."""
    try:
        parser.Parse(data, True)
    except expat.ExpatError as error:
        raise unreadable(
            file,
            f"line {error.lineno}, column {error.offset + 1}",
            f"XML that breaks off or is malformed ({told_plainly(expat.ErrorString(error.code))})",
            f"a whole {format_name} file",
            "Copy or export the file again.",
        ) from error
    except (LookupError, ValueError) as error:  # from Python's look-up of the encoding in the XML declaration
        found = f"an encoding that cannot be used ({shortened(str(error))})"
        raise unreadable(file, "line 1", found, "UTF-8 or another usual one", "Export it again.") from error
    except _DocumentTypeError as error:
        raise unreadable(
            file,
            f"line {parser.CurrentLineNumber}",
            "a document type declaration",
            f"{format_name}, which has none",
            "Take the <!DOCTYPE …> out, or export the file again.",
        ) from error


def local(name: str) -> str:
    """Return an element's name without its namespace."""
    return name.rpartition(" ")[2]


def _refuse(*_: object) -> None:
    raise _DocumentTypeError
