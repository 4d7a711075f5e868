"""One life is told one way."""

import pytest

from lyewitness.decline.records import Life, Outcome, Watched
from lyewitness.words.estimates import Estimate
from lyewitness.words.lives import (
    failed_when,
    is_known,
    is_vague,
    label_of,
    lasting,
    moment_text,
    tell,
    tell_ratio,
    when,
)
from lyewitness.words.numbers import DASH


@pytest.mark.parametrize(
    ("life", "words"),
    [
        (Life("reached", Estimate(62.0, 55.0, 71.0)), "62 h (55 to 71)"),
        (Life("reached", Estimate(62.0, 55.0, 71.0), bracket_h=(60.0, 65.0)), "62 h (55 to 71)"),
        (Life("reached", Estimate(62.0, 55.0, None)), "62 h (at least 55)"),
        (Life("reached", Estimate(8.0, 0.2, 100.0)), "roughly 8.0 h (anywhere from 0.2 to 100 h)"),
        (Life("reached", Estimate(45.0, 0.1, 1e8)), "roughly 45 h (known only to be at least 0.1 h)"),
        (Life("reached", Estimate(45.0, 1e-3, 1e8)), "roughly 45 h (hardly known)"),
        (
            Life("reached", Estimate(143.0, 0.8, None), tested=Outcome(3, 92.1, None)),
            "roughly 143 h (all three columns tested held for at least 92.1 h, which says little of others)",
        ),
        (
            Life("reached", Estimate(58.0, 6.9, 480.0), tested=Outcome(2, 33.0, 102.0)),
            "roughly 58 h (both columns tested failed between 33 and 102 h, which says little of others)",
        ),
        (
            Life("reached", Estimate(58.0, 36.9, 480.0), tested=Outcome(2, 33.0, None)),
            "roughly 58 h (anywhere from 36 to 480 h)",
        ),
        (Life("reached", Estimate(62.0, 55.0, 71.0), tested=Outcome(3, 50.0, 80.0)), "62 h (55 to 71)"),
        (Life("reached", Estimate(None, 43.4, 50.2), bracket_h=(43.4, 50.2)), "between 43.4 and 50.2 h"),
        (Life("reached", Estimate(None, 24.3, 128.0), bracket_h=(32.4, 128.1)), "between 24.3 and 128.1 h"),
        (Life("reached", Estimate(None, 52.4, 145.5), bracket_h=(52.3, 123.5)), "between 52.3 and 145.5 h"),
        (Life("reached", Estimate(None, 0.0, 4.96), bracket_h=(None, 4.96)), "before 5 h"),
        (Life("not reached", Estimate(None, 120.0)), "at least 120 h"),
        (Life("not reached", Estimate(None, 109.7, None, "why")), "at least 109 h"),
        (
            Life("not reached", Estimate(150.0, 110.0, 210.0), extrapolated=True),
            "at least 110 h (extrapolated beyond the test: roughly 150 h)",
        ),
        (
            Life("not reached", Estimate(None, 99.0), watched=Watched(5, 0, 99.0, 239.5)),
            "at least 99 to 239 h (as long as each was watched)",
        ),
        (
            Life("unclear", Estimate(None, 99.0), watched=Watched(5, 2, 99.0, 239.5)),
            "passed the limit in two of five cases and not in the 99 to 239 h for which each of the others "
            "was watched",
        ),
        (
            Life("unclear", recovered_h=(55.3, 58.1), watched=Watched(3, 1, 108.9, 109.1)),
            "passed the limit in one of three cases, within it again from 58.1 h on, and not in the 108 to "
            "109 h for which each of the others was watched",
        ),
        (
            Life("unclear", Estimate(115.0, 109.0, None, "the curve passes the limit, but …")),
            "at least 109 h",
        ),
        (
            Life("unclear", bracket_h=(40.0, 45.0), recovered_h=(50.0, 52.0)),
            "passed the limit between 40 and 45 h and was within it again from 52 h on",
        ),
        (
            Life("unclear", bracket_h=(110.0, 120.0)),
            "within the limit at 110 h, apparently past it from 120 h on",
        ),
        (
            Life("unclear", Estimate(None, 96.3, None), bracket_h=(110.0, 120.0)),
            "at least 96.3 h (too near to the limit to tell at 110 h, apparently past it from 120 h on)",
        ),
        (
            Life("unclear", Estimate(None, 9.3, None), bracket_h=(8.0, 54.0)),
            "at least 9.3 h (apparently past the limit from 54 h on)",
        ),
        (
            Life("not measured", Estimate(reason="no limit is set on this metric")),
            "no limit set",
        ),
        (Life("unclear", Estimate(None, 10.0, 20.0)), "between 10 and 20 h"),
        (Life("unclear", Estimate(reason="too few points")), "we cannot tell (too few points)"),
        (Life("unclear"), "we cannot tell"),
        (Life("not measured", Estimate(reason="no peak was found")), "not measured (no peak was found)"),
        (Life("not measured"), "not measured"),
    ],
)
def test_each_thing_that_can_be_known_of_a_life_has_one_form(life: Life, words: str) -> None:
    """The forms are those of the table in `tell`; an unclear life never gives the curve's value."""
    assert tell(life).replace("\u2009", " ") == words


def test_a_bar_has_a_short_label() -> None:
    """Beside a bar there is no place for a sentence."""
    told = label_of(Life("unclear", Estimate(None, 99.0), watched=Watched(5, 2, 99.0, 239.5)))
    assert told.replace("\u2009", " ") == "two of five failed; others held 99 to 239 h"
    life = Life("not reached", Estimate(None, 120.0))
    assert label_of(life) == tell(life)
    wide = Life("reached", Estimate(143.0, 0.8, None), tested=Outcome(3, 92.1, None))
    assert label_of(wide).endswith("all three columns tested held for at least 92.1\u2009h")


def test_nothing_is_told_to_have_lasted_before_an_hour() -> None:
    """A life of which only its end is known lasted less than that, not before it."""
    told = lasting(Life("reached", Estimate(None, None, 30.0), bracket_h=(None, 30.0)))
    assert told.replace("\u2009", " ") == "lasted less than 30 h"


def test_the_end_of_a_life_is_told_after_or_between() -> None:
    """A life with a value ended after it, one known by two injections between them."""
    assert when(Life("reached", Estimate(62.0, 55.0, 71.0))).startswith("after 62")
    assert when(Life("reached", Estimate(None, 40.0, 50.0), bracket_h=(40.0, 50.0))).startswith("between 40")


def test_a_life_is_known_where_anything_but_a_reason_is() -> None:
    """A bound or a bracket is something known, a reason is not."""
    assert is_known(Life("unclear", bracket_h=(110.0, None)))
    assert is_known(Life("not reached", Estimate(None, 120.0)))
    assert not is_known(Life("unclear", Estimate(reason="too few points")))
    assert not is_known(Life("not measured", Estimate(1.0)))


def test_a_ratio_that_rules_nothing_out_is_not_told() -> None:
    """A lone bound is told where it rules something out; beyond a factor of five an interval is vague."""
    assert tell_ratio(Estimate(None, 2.1)) == "at least 2.1"
    assert tell_ratio(Estimate(None, None, 0.5)).startswith("at most 0.5")
    assert tell_ratio(Estimate(None, 0.1)) == ""
    assert tell_ratio(Estimate(None, None, 7.0)) == ""
    assert tell_ratio(Estimate(2.0, 0.21, 33.0)) == "anywhere from 0.21 to 33"
    assert is_vague(Estimate(0.9, 0.1, 1.0))
    assert not is_vague(Estimate(0.9, 0.2, 4.4))


@pytest.mark.parametrize(
    ("moment", "told", "cell"),
    [
        (Estimate(62.3, 62.3, 62.3), "after 62 h", "62 h"),
        (Estimate(None, 43.42, 50.18), "between 43.4 and 50.2 h", "between 43.4 and 50.2 h"),
        (Estimate(None, 0.0, 5.0), "before 5 h", "before 5 h"),
    ],
)
def test_when_a_column_failed(moment: Estimate, told: str, cell: str) -> None:
    """A time where it is known, else the injections between which it lies; never the middle of them."""
    beside = Estimate(62.0, 55.0, 71.0)
    assert failed_when(moment, beside).replace("\N{THIN SPACE}", " ") == told
    assert moment_text(moment, beside).replace("\N{THIN SPACE}", " ") == cell
    assert moment_text(Estimate(), beside) == DASH
