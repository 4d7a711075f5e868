"""No pattern of the program can be kept busy by a text that was made for it.

A pattern that can read one stretch in several ways tries all of them where the text does not fit in the end:
with two ways to read each number, a list of thirty numbers and one wrong sign took hours.
"""

import importlib
import pkgutil
import re
from collections.abc import Iterator
from time import process_time

import pytest

import lyewitness
from tests.hostile.fuzz import at_most

STRETCHES = (
    "0", "550", "1,", ",550", "1.", "-1", "+1 ", "1e5", " ", "\t", " \t", "a", "a ", "ab_", "a=", "=", ": ",
    "(", "[[a:", '"', "\\", "a/", "./", "<", "-", ";", "L1,", "time ", "in ", "é", "\n", "##a=",
)  # fmt: skip
ENDS = ("", "î", "\n!", "(", "=")
SIGNS = 400
"""Of a text: no line is read further by a pattern that takes more than the square of its length."""
LONGEST_S = 1.0


def patterns() -> Iterator[tuple[str, "re.Pattern[str] | re.Pattern[bytes]"]]:
    """Yield every compiled pattern that a module of the program holds, by its place."""
    for found in pkgutil.walk_packages(lyewitness.__path__, "lyewitness."):
        if found.name != "lyewitness.__main__":
            for name, value in vars(importlib.import_module(found.name)).items():
                if isinstance(value, re.Pattern):
                    yield f"{found.name}.{name}", value


PATTERNS = dict(patterns())


def test_there_are_patterns() -> None:
    """The program has some dozens of them."""
    assert len(PATTERNS) > 60


@pytest.mark.parametrize("place", PATTERNS)
def test_no_text_keeps_a_pattern_busy(place: str) -> None:
    """Four hundred signs of any stretch, with an end that fits or not, are searched within a second."""
    pattern = PATTERNS[place]
    for stretch in STRETCHES:
        for end in ENDS:
            text = stretch * (SIGNS // len(stretch)) + end
            searched = text.encode() if isinstance(pattern.pattern, bytes) else text
            began = process_time()
            with at_most(10 * LONGEST_S):
                pattern.search(searched)  # type: ignore[arg-type]
                pattern.fullmatch(searched)  # type: ignore[arg-type]
            assert process_time() - began < LONGEST_S, (stretch, end)


def test_the_check_sees_what_it_is_to_see() -> None:
    """A pattern with two ways to read a number does not come to an end."""
    twofold = re.compile(r"(?:[\s,]*\d+\.?\d*)*")
    with pytest.raises(TimeoutError), at_most(0.5):
        twofold.fullmatch("1.150" + ",550" * 40 + "î")
