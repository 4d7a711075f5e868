"""What the chemistry of the mobile phase says about the study.

In: the study's conditions, its columns and markers, and what was measured. Out: `ChemistryFact`s, each
with value and bound in words, its source, and how it bears on the answer.
"""

from collections.abc import Iterator

from lyewitness.chemistry.medium import NotComputableError, stress_medium
from lyewitness.chemistry.records import StressMedium
from lyewitness.findings.records import ChemistryFact
from lyewitness.peaks.records import Measurements
from lyewitness.quantities import fixed, interval, rounded, with_unit
from lyewitness.study.records import Conditions, Study


def facts(study: Study, measurements: Measurements) -> tuple[ChemistryFact, ...]:
    """Return the facts of the medium, in the order in which a report tells them."""
    return tuple(_of_ph(study.stress))


def _of_ph(conditions: Conditions) -> Iterator[ChemistryFact]:
    try:
        medium = stress_medium(
            conditions.buffer,
            conditions.buffer_mM,
            conditions.ph,
            conditions.ph_temperature_C,
            conditions.temperature_C,
        )
    except NotComputableError as reason:
        yield ChemistryFact(
            "stress-ph", "pH at the stress temperature", f"It cannot be computed: {reason}.", ""
        )
        return
    yield _ph_fact(medium)


def _ph_fact(medium: StressMedium) -> ChemistryFact:
    hot = with_unit(rounded(medium.hot.temperature_C), "°C")
    bench = with_unit(rounded(medium.bench.temperature_C), "°C")
    return ChemistryFact(
        "stress-ph",
        "pH at the stress temperature",
        f"pH {fixed(medium.bench.ph, 2)} at {bench} becomes pH {interval(medium.ph)} at {hot}.",
        "charge balance",
    )
