"""In what turn the columns of each type passed their limits, where a question asks what to watch."""

from lyewitness.study.records import Limit, Question
from tests.findings.making import evidence_of, found_in

LIMITS = (
    Limit("plate_number_half_height", at_least_percent=80.0, markers=("caffeine",)),
    Limit("symmetry_factor", at_most=1.5, markers=("aniline",)),
    Limit("retention_factor", at_least_percent=80.0, markers=("caffeine",)),
)
ASKED = Question("q1", "What should we watch on these columns?")


def test_what_ended_most_columns_comes_before_a_later_life_that_is_known() -> None:
    """Two of four tail past their limit at 45 h; that all lose retention at 67 h is not what goes first."""
    tails = {("S1", "aniline", "symmetry_factor"): 0.8, ("S2", "aniline", "symmetry_factor"): 0.8}
    paler = {(f"S{n}", "caffeine", "retention_factor"): -0.3 for n in (1, 2, 3, 4)}
    evidence = evidence_of(
        {"silica": (1e6, 1e6, 1e6, 1e6), "oxide": (30.0, 31.0, 32.0)},
        courses={**tails, **paler},
        limits=LIMITS,
        questions=(ASKED,),
    )
    short = found_in(evidence).answers[0].short.replace("\u2009", " ")
    of_silica = short.partition("silica columns (")[2].partition(")")[0]
    assert "by the symmetry factor of aniline" in of_silica, short
    assert "by the retention factor of caffeine" in of_silica, short
    assert "on the oxide columns, the plate number (half height) of caffeine" in short, short
