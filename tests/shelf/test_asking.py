"""What a question in plain words asks for, and what is said of a study that is not quite that."""

from dataclasses import replace
from pathlib import Path

import pytest

from lyewitness.cli import main
from lyewitness.shelf.asking import ask, foreseen_words, heard_words, mixed
from lyewitness.shelf.records import Shelved
from lyewitness.shelf.understanding import understood
from tests.shelf.making import Told, lay_down
from tests.shelf.test_standing import LIFE, SILICA, told_by

POLYMER = told_by("one", {"A": "abcd"}, (LIFE,), settings=(("buffer_mM", "20 mmol/L"),))
SHORT = told_by("two", {"S": "efgh"}, (replace(LIFE, column="S", life_h=20.0, **SILICA),))
ENDURING = replace(LIFE, column="E", life_h=None, low_h=400.0, high_h=None, state="not reached")
LONG = told_by("three", {"E": "klmn"}, (ENDURING,))


@pytest.mark.parametrize(
    ("question", "words"),
    [
        ("Is it not the polymer, and does it last?", ()),
        ("Is it the polymer, and does it not last?", ("polymer",)),
        ("20 mM pyrrolidine", ("pyrrolidine",)),
        ("20 mmol/L pyrrolidine and 30 % methanol at 0.4 mL/min", ("pyrrolidine", "methanol")),
        ("a 2.1 x 50 mm polymer of 1.7 µm at 220 nm, 150 bar, 5 µL", ("polymer",)),
        ("which one has the shortest life", ()),
        ("two core shell columns", ("core-shell",)),
        ("will our column type hold for 12 hours?", ()),
    ],
)
def test_only_words_that_tell_studies_apart_are_sought(question: str, words: tuple[str, ...]) -> None:
    """What every question has, and quantities with their units, are no words; what is ruled out is none."""
    assert understood(question).words == words


@pytest.mark.parametrize(
    ("question", "quantity"),
    [
        ("20 mM", ("buffer_mM", 20.0)),
        ("20 mmol/L", ("buffer_mM", 20.0)),
        ("0,02 mol/L", ("buffer_mM", 20.0)),
        ("0.4 mL/min", ("flow_mL_min", 0.4)),
        ("30 % acetonitrile", ("organic_percent", 30.0)),
        ("1.7 µm particles", ("particle_um", 1.7)),
    ],
)
def test_quantities_are_read_with_their_units(question: str, quantity: tuple[str, float]) -> None:
    """A concentration, a flow, a share and a diameter are numbers in the unit of the setting."""
    ((key, asked),) = understood(question).quantities
    assert (key, asked.low) == quantity
    assert asked.is_point


def test_a_quantity_is_held_against_what_the_study_states() -> None:
    """As asked, or beside what was asked; nothing is said of what a study does not state."""
    (hit,) = ask("polymer, 20 mM", (POLYMER,))
    assert "had a buffer concentration of 20 mmol/L, as asked" in hit.why
    (hit,) = ask("polymer, 50 mM", (POLYMER,))
    assert "had a buffer concentration of 20 mmol/L, where 50\u2009mmol/L was asked" in hit.why
    (hit,) = ask("polymer, 5 µL", (POLYMER,))
    assert not any("µL" in why for why in hit.why)


@pytest.mark.parametrize(
    ("question", "ids"),
    [
        ("shortest life at 50 °C", ["two", "one", "three"]),
        ("which fails first at 50 °C?", ["two", "one", "three"]),
        ("longest life at 50 °C", ["three", "one", "two"]),
        ("most stable column at 50 °C", ["three", "one", "two"]),
        ("longest life of a silica at 50 °C", ["two", "three", "one"]),
    ],
)
def test_the_shortest_lives_are_the_other_order(question: str, ids: list[str]) -> None:
    """Lives decide the order where the question asks for one, of what is as asked first; it says which."""
    hits = ask(question, (POLYMER, SHORT, LONG))
    assert [hit.study.id for hit in hits] == ids
    told = {hit.study.id: next(why for why in hit.why if why.startswith("its columns")) for hit in hits}
    assert "at least 400" in told["three"]
    assert "about 100" in told["one"]


@pytest.mark.parametrize(
    ("question", "told"),
    [
        ("polymer at 50 °C", "polymer was asked, this is porous silica C18"),
        ("C18 in ammonium bicarbonate at 50 °C", "ammonium bicarbonate was asked, this is in pyrrolidine"),
        ("silica in DEA at 50 °C", "diethylamine was asked, this is in pyrrolidine"),
        ("butylbenzene on silica at 50 °C", "butylbenzene was asked, this follows toluene"),
        ("50 °C, but not on silica", "silica was ruled out, this is porous silica C18"),
    ],
)
def test_what_is_another_than_asked_is_said(question: str, told: str) -> None:
    """Type, buffer and marker are held against the question, under any name of a buffer."""
    other = replace(POLYMER, lives=(replace(LIFE, marker="butylbenzene"),))
    hits = ask(question, (other, SHORT))
    (hit,) = [hit for hit in hits if hit.study.id == "two"]
    assert told in hit.why
    assert told in hit.but


def test_what_is_ruled_out_comes_last_and_is_told() -> None:
    """`not` before a buffer or a type is no wish for it: studies with it stand behind those without."""
    other = replace(LONG, lives=(replace(ENDURING, buffer="ammonium"),))
    hits = ask("not pyrrolidine, polymer phenyl", (POLYMER, other))
    assert [hit.study.id for hit in hits] == ["three", "one"]
    assert "pyrrolidine was ruled out, this is in pyrrolidine" in hits[1].why
    assert understood("anything but polymer at pH 11.2").without == ("polymer",)


def test_a_word_that_a_study_lacks_is_named() -> None:
    """One word of two is no more than that."""
    (hit,) = ask("polymer zirconia", (POLYMER,))
    assert hit.why == ("has the word polymer, but not zirconia",)


def folder_of(tmp_path: Path, number: int) -> Path:
    """Lay down some studies of one type."""
    for place in range(number):
        study = Told(f"S{place:02}", "polymer", "C18", "pyrrolidine", 50.0, 11.0, 10.3, "L1", (80.0 + place,))
        lay_down(study, tmp_path / "s" / study.id)
    return tmp_path / "s"


@pytest.mark.parametrize(("number", "told"), [(11, "10 of 11 shown"), (10, "")])
def test_how_many_more_bear_on_it_is_said(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], number: int, told: str
) -> None:
    """Ten are shown; of eleven it says so."""
    assert main(["shelf", str(folder_of(tmp_path, number)), "--ask", "polymer"]) == 0
    said = capsys.readouterr().out
    assert "10. " in said
    assert "11. " not in said
    assert (told in said) if told else ("shown" not in said)


@pytest.mark.parametrize(
    ("question", "told"),
    [
        ("zirconia at 150 °C", "looked for: zirconia, 150"),
        ("zirconia", "Here is one study of polymer C18; in pyrrolidine; at 50"),
        ("is it the one that we had?", "Nothing in that question tells one study from another"),
    ],
)
def test_an_empty_answer_says_what_was_looked_for_and_what_is_there(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], question: str, told: str
) -> None:
    """Nobody has to guess why nothing was found."""
    assert main(["shelf", str(folder_of(tmp_path, 1)), "--ask", question]) == 0
    assert told in capsys.readouterr().out


def test_the_span_that_was_asked_for_is_told_in_words() -> None:
    """How many lasted it, did not, or may have; nobody is told of none."""
    lives = (LIFE, replace(LIFE, column="B", high_h=60.0, life_h=55.0, low_h=50.0))
    study = told_by("one", {"A": "abcd", "B": "efgh"}, lives)
    whole: Shelved = replace(study, lives=lives)
    (hit,) = ask("polymer, 80 h", (whole,))
    assert hit.answer.endswith("of two columns of polymer phenyl one lasted and one did not last 80\u2009h.")
    (hit,) = ask("polymer, 100 h", (whole,))
    assert "one did not last and one may or may not have lasted 100\u2009h." in hit.answer


@pytest.mark.parametrize(
    ("question", "told"),
    [
        ("silica at 50 °C and pH 11", "No life is foreseen for porous silica C18 in pyrrolidine"),
        ("porous silica at 50 °C and pH 11 in ammonia", "No life is foreseen for porous silica C18 in pyrro"),
        ("hybrid at 50 °C and pH 11", "as the shelf has it (polymer phenyl or porous silica C18)"),
    ],
)
def test_a_part_of_a_type_is_enough_where_it_fits_one(question: str, told: str) -> None:
    """Who says silica means the one silica that is there; whatever is not there is told with what is."""
    assert told in foreseen_words(question, (POLYMER, SHORT))


def test_a_column_counts_once_where_nobody_says_which_metric_decided() -> None:
    """A report of the first version names none: its columns are told by one metric, not by every one."""
    lives = tuple(replace(LIFE, metric=one) for one in ("plate_number_half_height", "retention_factor"))
    (hit,) = ask("polymer, 80 h", (told_by("one", {"A": "abcd"}, lives),))
    assert "of one column of polymer phenyl one lasted 80\u2009h." in hit.answer


@pytest.mark.parametrize(
    ("question", "key", "told"),
    [
        ("below 40 °C", "temperature_C", "below 40\u2009°C"),
        ("no hotter than 40 °C", "temperature_C", "at most 40\u2009°C"),
        ("up to forty degrees", "temperature_C", "at most 40\u2009°C"),
        ("between 40 and 50 °C", "temperature_C", "40 to 50\u2009°C"),
        ("40-50 °C", "temperature_C", "40 to 50\u2009°C"),
        ("warmer than 55 °C but cooler than 65 °C", "temperature_C", "above 55 and below 65\u2009°C"),
        ("60 ± 2 °C", "temperature_C", "58 to 62\u2009°C"),
        ("60 °C or more", "temperature_C", "at least 60\u2009°C"),
        ("at room temperature", "temperature_C", "15 to 25\u2009°C"),
        ("above pH 10", "ph", "above pH 10"),
        ("pH ≥ 10.5, 50 °C", "ph", "at least pH 10.5"),
        ("pH 10 to 11", "ph", "pH 10 to 11"),
        ("between pH 10 and pH 11", "ph", "pH 10 to 11"),
        ("pH not above 10", "ph", "at most pH 10"),
        ("pH 11 and 50 °C", "ph", "pH 11"),
        ("pH 11 - 50 °C", "ph", "pH 11"),
        ("60 °C and above pH 11", "temperature_C", "60\u2009°C"),
        ("at least three days", "span_h", "at least 72\u2009h"),
        ("more than a week", "span_h", "more than 168\u2009h"),
        ("two to three days", "span_h", "48 to 72\u2009h"),
        ("two and a half days", "span_h", "60\u2009h"),
        ("pH 11 at least 3 days", "span_h", "at least 72\u2009h"),
        ("20 mM to 50 mM pyrrolidine", "buffer_mM", "20 to 50\u2009mmol/L"),
        ("less than 30 % methanol", "organic_percent", "less than 30\u2009%"),
    ],
)
def test_ranges_are_heard_with_one_end_or_two(question: str, key: str, told: str) -> None:
    """Words before and behind a number, signs, and two numbers of one unit make a range of it."""
    assert dict(understood(question).ranges)[key].told(key) == told


@pytest.mark.parametrize(
    ("question", "first", "told"),
    [
        ("polymer phenyl below 45 °C", "cool", "within the range asked (below 45\u2009°C)"),
        ("polymer phenyl at 45 °C or more", "warm", "within the range asked (at least 45\u2009°C)"),
        ("polymer phenyl above 40 °C", "warm", "within the range asked (above 40\u2009°C)"),
        ("polymer phenyl between 35 and 41 °C", "cool", "within the range asked (35 to 41\u2009°C)"),
    ],
)
def test_what_lies_within_the_range_asked_stands_first(question: str, first: str, told: str) -> None:
    """Within a range all is as asked; what lies beyond says by how far, and stands behind."""
    cool = told_by("cool", {"A": "abcd"}, (replace(LIFE, temperature_C=40.0),))
    warm = told_by("warm", {"B": "efgh"}, (replace(LIFE, column="B", temperature_C=50.0, life_h=55.5),))
    hits = ask(question, (cool, warm))
    assert hits[0].study.id == first
    assert any(told in why for why in hits[0].why)
    assert any("beyond the range asked" in but or "just outside" in but for but in hits[1].but)


def test_a_ph_range_is_held_against_the_ph_when_hot() -> None:
    """pH 10.8 to 11.2 at the study's own temperature holds its pH 11, which is less when hot."""
    (hit,) = ask("polymer, pH 10.8 to 11.2, 45 to 55 °C", (POLYMER,))
    assert any(why.startswith("was run at pH 11") and "within the range asked" in why for why in hit.why)
    (hit,) = ask("polymer, at most pH 9.5, 45 to 55 °C", (POLYMER,))
    assert any("beyond the range asked (at most pH 9.5, both when hot)" in but for but in hit.but)


def test_a_time_that_nobody_tested_for_is_told() -> None:
    """Whoever asks for days hears of a study that ended before, and finds one that went on first."""
    short = told_by("short", {"A": "abcd"}, (replace(ENDURING, column="A", low_h=48.0, tested_h=48.0),))
    long = told_by("went on", {"B": "efgh"}, (replace(ENDURING, column="B", low_h=90.0, tested_h=96.0),))
    hits = ask("polymer for at least three days", (short, long))
    assert [hit.study.id for hit in hits] == ["went on", "short"]
    assert "was tested for 96\u2009h, as long as was asked (at least 3 days)" in hits[0].why
    assert "was tested for 48\u2009h only, where at least 3 days was asked" in hits[1].but


@pytest.mark.parametrize(
    ("question", "told"),
    [
        ("hot polymer", "Not understood, and left out: ‘hot’ (say how much: name a temperature)."),
        ("polymer at 150 bar", "‘150 bar’ (held against nothing)"),
        ("polymer 50", "‘50’ (held against nothing)"),
        ("polymer, not at 50 °C", "‘not 50 °C’ (held against nothing)"),
        ("polymer zirconia", "‘zirconia’ (no study here has that word)"),
        ("pyrolidine", "Heard: pyrrolidine (for ‘pyrolidine’)."),
        ("polimers", "Heard: polymer (for ‘polimers’)."),
        ("not pyrolidine, polymer", "not pyrrolidine (for ‘pyrolidine’)"),
        ("phenol columns", "no study here has that word; did you mean ‘phenyl’?"),
        ("polymer below 40 °C", "Heard: polymer; below 40\u2009°C."),
    ],
)
def test_what_was_heard_and_what_was_not_is_told(question: str, told: str) -> None:
    """Vague words, bare numbers and unknown words are named; slips are read as the shelf has the word."""
    assert told in heard_words(question, (POLYMER,))


def test_a_vague_word_alone_finds_nothing() -> None:
    """`hot` stands in many titles, and tells nobody how hot."""
    assert ask("hot", (replace(POLYMER, title="Polymer in hot pyrrolidine"),)) == ()


def test_another_substance_is_no_slip_of_the_pen() -> None:
    """One letter makes ethylamine of methylamine: such a word is asked back, not taken for the other."""
    study = told_by("one", {"A": "abcd"}, (replace(LIFE, marker="methylaniline"),))
    assert ask("ethylaniline", (study,)) == ()
    assert "did you mean" in heard_words("dimethylaniline", (study,))


def test_a_life_is_foreseen_at_both_ends_of_a_range_and_at_no_open_one() -> None:
    """A range without an end has no harshest condition."""
    told = foreseen_words("polymer phenyl at 40 to 50 °C and pH 11", (POLYMER,))
    assert "at 40 °C" in told
    assert "at 50 °C" in told
    assert "range with an open end" in foreseen_words("polymer phenyl above 40 °C and pH 11", (POLYMER,))


def test_two_things_that_are_ruled_out_are_both_ruled_out() -> None:
    """`neither … nor` and `not … or` go on."""
    assert understood("neither silica nor hybrid at 50 °C").without == ("silica", "hybrid")
    assert understood("not pyrrolidine or ammonia").without == ("pyrrolidine", "ammonia")


def test_a_time_alone_is_told_of_each_type_and_finds_what_lasted_it() -> None:
    """Nobody who asks what lasts three days is told of the type that does not."""
    failed = replace(LIFE, column="S", life_h=20.0, low_h=18.0, high_h=22.0, tested_h=96.0, **SILICA)
    held = replace(ENDURING, column="E", low_h=90.0, tested_h=96.0)
    untested = replace(ENDURING, column="E", low_h=40.0, tested_h=48.0)
    both = told_by("both", {"S": "abcd", "E": "efgh"}, (failed, held))
    early = told_by("early", {"S": "klmn", "E": "opqr"}, (replace(failed, life_h=20.5), untested))
    hits = ask("what lasts at least three days?", (early, both))
    assert [hit.study.id for hit in hits] == ["both", "early"]
    assert "of one column of polymer phenyl one lasted 72\u2009h" in hits[0].answer
    assert hits[0].answer.endswith("of one column of porous silica C18 one did not last 72\u2009h.")
    assert "one was not tested for" in hits[1].answer


def test_the_longest_life_is_sought_at_what_was_asked_first() -> None:
    """A column lives longer half a pH unit below, and that is not what was asked."""
    milder = told_by("milder", {"E": "efgh"}, (replace(LONG.lives[0], ph=10.5, ph_hot=9.8),))
    hits = ask("longest life of polymer at 50 °C and pH 11", (milder, POLYMER))
    assert [hit.study.id for hit in hits] == ["one", "milder"]


def test_lives_to_several_limits_are_no_order() -> None:
    """The longest life to 70 % may be the shorter one to 80 %: each bears its limit, and a warning stands."""
    life = replace(LIFE, column="E", limit="at_least_percent = 70", life_h=120.0)
    looser = told_by("looser", {"E": "efgh"}, (life,))
    hits = ask("longest life of polymer at 50 °C", (POLYMER, looser))
    assert [hit.study.id for hit in hits] == ["looser", "one"]
    assert any("toluene, at least 70\u2009% of its reference)" in why for why in hits[0].why)
    assert mixed(hits).startswith("Mind: these lives were not all measured by one marker, metric and limit.")
    assert not mixed(ask("longest life of polymer at 50 °C", (POLYMER, LONG)))
    assert not mixed(ask("polymer at 50 °C", (POLYMER, looser)))
