"""Columns of one group at several settings are groups of their own where a factor has them so."""

from lyewitness.study.metadata import Metadata
from lyewitness.study.records import Column, Conditions, Factor, Marker, Question
from lyewitness.study.set_on_purpose import parted_by_setting, set_on_purpose
from lyewitness.words.problems import Gathering

LEVELS = {"10.0": ("K1", "K2"), "10.8": ("K3", "K4")}


def planned(*factors: Factor, group: str = "silica") -> Metadata:
    """Return four columns at two values of pH."""
    columns = tuple(
        Column(f"K{n}", f"K{n}", group, "porous silica", "C18", 100.0, 3.0, 3.5, ph=10.0 if n < 3 else 10.8)
        for n in (1, 2, 3, 4)
    )
    return Metadata(
        stress=Conditions(ph=10.0),
        columns=columns,
        factors=factors,
        questions=(Question("q1", "Is it safe?", groups=("silica",)),),
        markers=(Marker("caffeine", "neutral", {"silica": 3.0}),),
    )


def test_a_group_at_several_values_of_a_factor_becomes_several() -> None:
    """Factors, questions and markers that name the group mean all of it; a caution says what was done."""
    problems = Gathering("study.toml")
    metadata = planned(Factor("pH", LEVELS), Factor("type", {"plain": ("silica",)}))
    found = parted_by_setting(metadata, problems)
    assert [one.group for one in found.columns] == ["pH 10.0", "pH 10.0", "pH 10.8", "pH 10.8"]
    assert found.questions[0].groups == ("pH 10.0", "pH 10.8")
    assert found.factors[1].levels == {"plain": ("K1", "K2", "K3", "K4")}
    assert [found.markers[0].expected_retention(one) for one in found.columns] == [3.0] * 4
    (caution,) = problems.problems
    assert caution.severity == "caution"
    assert "'pH 10.0' and 'pH 10.8'" in caution.cure


def test_settings_that_no_factor_has_stay_in_one_group() -> None:
    """Columns at further settings lead lives on to milder ones, as they always did."""
    problems = Gathering("study.toml")
    metadata = planned(Factor("guard", {"with": ("K1", "K3"), "without": ("K2", "K4")}))
    assert parted_by_setting(metadata, problems) is metadata
    assert not problems.problems


def test_a_purpose_is_told_by_its_name() -> None:
    """A factor of the setting's name, or groups that bear its values; another factor is none."""
    assert set_on_purpose(planned(Factor("pH", LEVELS))) == {"ph"}
    assert set_on_purpose(planned(Factor("bottle", {"pH 10.0": LEVELS["10.0"], "pH 10.8": LEVELS["10.8"]})))
    assert not set_on_purpose(planned(Factor("bonding", {"C8": LEVELS["10.0"], "C18": LEVELS["10.8"]})))
    assert not set_on_purpose(planned())
