"""The units in which files count time, and the words they use for them.

In: a word from a heading or attribute. Out: `ms`, `s`, `min` or `h`, or nothing: a word that could
mean two units, such as `m`, means none.
"""

import re
from collections.abc import Mapping

MINUTES_IN: Mapping[str, float] = {"ms": 1 / 60_000, "s": 1 / 60, "min": 1.0, "h": 60.0}
"""Minutes in one unit of time."""

_WORDS: Mapping[str, str] = {
    word: unit
    for unit, words in {
        "ms": "ms msec msecs millisecond milliseconds millisekunde millisekunden milliseconde millisecondes",
        "s": "s sec secs second seconds sek sekunde sekunden seconde secondes segundo segundos secondi",
        "min": "min mins minute minutes minuten minuto minutos minuti",
        "h": "h hr hrs hour hours std stunde stunden heure heures hora horas ore",
    }.items()
    for word in words.split()
}


def time_unit(word: str) -> str:
    """Return the unit that `word` names, a key of `MINUTES_IN`; empty where it names none."""
    return _WORDS.get(re.sub(r"[\s\0.()\[\]]+", "", word).casefold(), "")
