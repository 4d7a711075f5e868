"""Buffers by the names that a study folder may use.

In: free text. Out: a `Buffer`, or None where the name is not known.
"""

from collections.abc import Mapping
from types import MappingProxyType

from lyewitness.chemistry.records import Buffer

STRONG_BASE = "strong base"

BUFFERS: tuple[Buffer, ...] = (
    Buffer("ammonia", {"ammonia": 1.0}, "ammonia",
           aliases=("ammonium", "ammonium hydroxide", "ammonium chloride")),
    Buffer("ammonium bicarbonate", {"ammonia": 1.0, "carbonate": 1.0}, "the salt",
           raised_with="ammonia", also_raised_with=STRONG_BASE,
           aliases=("ammonium hydrogen carbonate", "ammonium hydrogencarbonate")),
    Buffer("ammonium carbonate", {"ammonia": 2.0, "carbonate": 1.0}, "the salt",
           raised_with="ammonia", also_raised_with=STRONG_BASE),
    Buffer("ammonium acetate", {"ammonia": 1.0, "acetate": 1.0}, "the salt",
           raised_with="ammonia", also_raised_with=STRONG_BASE),
    Buffer("ammonium formate", {"ammonia": 1.0, "formate": 1.0}, "the salt",
           raised_with="ammonia", also_raised_with=STRONG_BASE),
    Buffer("carbonate", {"carbonate": 1.0}, "bicarbonate", strong_charge=1.0,
           aliases=("bicarbonate", "hydrogen carbonate", "carbonate-bicarbonate", "sodium bicarbonate",
                    "potassium bicarbonate", "sodium hydrogen carbonate", "potassium hydrogen carbonate")),
    Buffer("sodium carbonate", {"carbonate": 1.0}, "the carbonate", strong_charge=2.0,
           aliases=("potassium carbonate",)),
    Buffer("borate", {"borate": 1.0}, "boric acid", aliases=("boric acid", "sodium borate")),
    Buffer("borax", {"borate": 4.0}, "borax", strong_charge=2.0,
           aliases=("tetraborate", "sodium tetraborate")),
    Buffer("phosphate", {"phosphate": 1.0}, "dihydrogen phosphate", strong_charge=1.0,
           aliases=("sodium phosphate", "potassium phosphate", "phosphoric acid", "trisodium phosphate")),
    Buffer("glycine", {"glycine": 1.0}, "glycine", aliases=("glycinate", "sodium glycinate")),
    Buffer("pyrrolidine", {"pyrrolidine": 1.0}, "the free base", aliases=("pyrrolidinium",)),
    Buffer("piperidine", {"piperidine": 1.0}, "the free base", aliases=("piperidinium",)),
    Buffer("triethylamine", {"triethylamine": 1.0}, "the free base", aliases=("triethylammonium", "tea")),
    Buffer("diethylamine", {"diethylamine": 1.0}, "the free base", aliases=("diethylammonium", "dea")),
    Buffer("CAPS", {"CAPS": 1.0}, "the free acid",
           aliases=("CAPS (3-(cyclohexylamino)propanesulfonic acid)",
                    "3-(cyclohexylamino)propanesulfonic acid", "3-(cyclohexylamino)-1-propanesulfonic acid")),
    Buffer("hydroxide", {}, "hydroxide", strong_charge=1.0,
           aliases=("sodium hydroxide", "potassium hydroxide", "lithium hydroxide", "naoh", "koh", "lioh")),
)  # fmt: skip


def _key(name: str) -> str:
    """Return the name without case, doubled blanks and the trailing word `buffer`."""
    words = name.casefold().replace("\u2010", "-").replace("\u2011", "-").split()
    return " ".join(words[:-1] if len(words) > 1 and words[-1] == "buffer" else words)


_BY_NAME: Mapping[str, Buffer] = MappingProxyType(
    {_key(name): buffer for buffer in BUFFERS for name in (buffer.name, *buffer.aliases)}
)


def buffer_named(name: str) -> Buffer | None:
    """Return the buffer of that name or alias, in any case, with or without the word `buffer`."""
    return _BY_NAME.get(_key(name))
