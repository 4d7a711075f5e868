"""A bed that gives way is told as that: the plates of all markers fall together, and within a short time."""

from collections.abc import Mapping
from dataclasses import replace

import numpy as np
import pytest

from lyewitness.findings.evidence import Evidence
from lyewitness.findings.signs.sudden_losses import sudden_losses
from lyewitness.findings.signs.weighing import GAVE_WAY, SILANOLS, signs_of
from tests.findings.making import evidence_of, found_in, judged

STEADY: Mapping[str, tuple[float, ...]] = {"hybrid": (1e6,) * 4, "silica": (1e6,) * 3}


def fallen(begin_h: Mapping[str, float], markers: tuple[str, ...] = ("caffeine", "aniline")) -> Evidence:
    """Return the steady study where the plates of columns fall by 40 % within 20 h from an hour on."""
    evidence = evidence_of(STEADY)

    def left(column: str, hours: float) -> float:
        begun = begin_h.get(column, 1e9)
        return 1 - 0.4 * min(max((hours - begun) / 20.0, 0.0), 1.0)

    rows = tuple(
        replace(row, plate_number_half_height=own * left(row.column, row.exposure_h))
        if (own := row.plate_number_half_height) and row.marker in markers
        else row
        for row in evidence.measurements.rows
    )
    return judged(evidence, evidence.study, replace(evidence.measurements, rows=rows))


def test_single_beds_that_gave_way_are_told_first_and_as_that() -> None:
    """Two of four lose two fifths of all plates within a day: the reasons say so, and when."""
    found = found_in(fallen({"H1": 40.0, "H3": 70.0}))
    claims = [claim for claim in found.answers[0].claims if "-signs-" in claim.id]
    told = claims[0]
    assert "-gave-way-" in told.id
    assert told.text.startswith(
        "On H1 and H3, two of four hybrid columns, the plates of all markers, neutral ones too, fell together"
    )
    assert "most of it between" in told.text
    assert (
        "the bed gave way. It settled or particles dissolved and left a void at its inlet; these" in told.text
    ), told.text
    assert "At the end the hold-up time was 100\u2009%" in told.text
    assert ("sign", f"H1/{GAVE_WAY}") in [(link.kind, link.target) for link in told.because]
    (first, *_) = [sign for sign in found.signs if sign.column == "H1"]
    assert first.mechanism == GAVE_WAY


def test_no_silanols_explain_what_the_neutrals_lost_as_well() -> None:
    """Where the bed gave way, that decided a life by plates, of a base too."""
    evidence = fallen({"H1": 40.0})
    signs = {sign.mechanism: sign for sign in signs_of(evidence, "H1")}
    assert signs[GAVE_WAY].explains
    assert not signs[SILANOLS].explains


def slumped(spared: float = 1.0, begin_h: float = 35.0, lost: float = 0.6) -> Evidence:
    """Return a column that wears all along, and slumps within 15 h; `spared`: of the loss, for caffeine."""
    evidence = evidence_of(STEADY)

    def left(marker: str, hours: float) -> float:
        own = lost * min(max((hours - begin_h) / 15.0, 0.0), 1.0) + 0.005 * hours
        return float(np.exp(-own * (spared if marker == "caffeine" else 1.0)))

    rows = tuple(
        replace(row, plate_number_half_height=own * left(row.marker, row.exposure_h))
        if (own := row.plate_number_half_height) and row.column == "H1"
        else row
        for row in evidence.measurements.rows
    )
    return judged(evidence, evidence.study, replace(evidence.measurements, rows=rows))


@pytest.mark.parametrize("spared", [1.0, 0.75])
def test_a_bed_that_slumped_and_went_on_wearing_gave_way(spared: float) -> None:
    """Half of the loss within a fifth of the exposure, many times as fast as before and after it.

    A peak that the tubing broadens shows a quarter less of it than the others.
    """
    loss = sudden_losses(slumped(spared))["H1"]
    assert (loss.begin_h, loss.end_h) == (30.0, 50.0)
    (sign,) = [one for one in signs_of(slumped(spared), "H1") if one.mechanism == GAVE_WAY]
    assert sign.verdict != "speaks against"


def test_wear_that_quickens_or_slackens_is_no_slump() -> None:
    """From the start on, or up to the end, it has one pace beside it; and a small step is no slump."""
    assert not sudden_losses(slumped(begin_h=-10.0))
    assert not sudden_losses(slumped(lost=0.25))
    assert not sudden_losses(slumped(spared=0.4))


def test_what_all_columns_lose_at_once_is_no_bed() -> None:
    """A cell or a capillary broadens the peaks of all columns from one hour on."""
    assert not sudden_losses(fallen({f"{letter}{n}": 40.0 for letter in "HS" for n in (1, 2, 3, 4)}))
    assert set(sudden_losses(fallen({"H1": 40.0, "S2": 40.0}))) == {"H1", "S2"}


def test_what_all_markers_lost_by_degrees_neither_speaks_for_a_bed_nor_against_it() -> None:
    """Beds that fail slowly take the plates of all markers as well, though they differ on the way."""
    slow = {("H1", marker, "plate_number_half_height"): -0.8 for marker in ("caffeine", "aniline")}
    evidence = evidence_of(STEADY, courses=slow)
    sign = next(one for one in signs_of(evidence, "H1") if one.mechanism == GAVE_WAY)
    assert sign.verdict == "cannot tell"
    (reason,) = sign.reasons
    assert "caffeine and aniline lost 7" in reason
    assert "alike by the end, but by degrees, which does not tell." in reason
    calm = next(one for one in signs_of(evidence, "H2") if one.mechanism == GAVE_WAY)
    assert calm.verdict == "speaks against"


def test_a_slow_loss_and_one_of_bases_alone_are_no_bed_that_gave_way() -> None:
    """What goes steadily, or spares the neutrals, has other causes; one bad injection is none."""
    slow = {("H1", marker, "plate_number_half_height"): -0.5 for marker in ("caffeine", "aniline")}
    assert not sudden_losses(evidence_of(STEADY, courses=slow))
    assert not sudden_losses(fallen({"H1": 40.0}, markers=("aniline",)))
    assert not sudden_losses(fallen({"H1": 95.0}))


def test_who_asks_how_columns_fail_hears_that_it_comes_suddenly() -> None:
    """What takes most of the plates within a day gives no warning: that stands beside the limit."""
    evidence = fallen({"H1": 40.0, "H2": 50.0, "H3": 30.0, "H4": 60.0})

    def short(text: str, groups: tuple[str, ...] = ()) -> str:
        asked = replace(evidence.study.questions[0], text=text, groups=groups)
        study = replace(evidence.study, questions=(asked,))
        return found_in(judged(evidence, study)).answers[0].short.replace("\u2009", " ")

    both = short("How do these columns fail, and what do we see first?")
    assert ", suddenly (most of the lost plates within 20 h on each)" in both, both
    alone = short("How does the hybrid fail?", ("hybrid",))
    assert "fell together" in alone, alone
    assert alone.count("most of it between") == 4, alone
