"""What the chemistry of the mobile phase says about the study.

In: the study's conditions, its columns and markers, and what was measured. Out: `ChemistryFact`s, each
with value and bound in words, its source, and how it bears on the answer.
"""

from collections.abc import Iterator

from lyewitness.findings.medium.beds import beds_of
from lyewitness.findings.medium.flow import bed_facts
from lyewitness.findings.medium.markers import marker_facts
from lyewitness.findings.medium.ph import buffer_facts, constants_fact, ph_fact
from lyewitness.findings.medium.settings import (
    Setting,
    injection_setting,
    same_bottle,
    same_medium,
    stated,
    stress_settings,
)
from lyewitness.findings.medium.silica import bed_budget_facts, solubility_fact
from lyewitness.findings.records import ChemistryFact
from lyewitness.peaks.records import Measurements
from lyewitness.study.records import Study
from lyewitness.words.numbers import fixed

ANION_SHIFT = (0.1, 0.3)
CATION_SHIFT = (0.0, 0.2)
"""pH units for every 10 % by volume of acetonitrile or methanol, up to about half (from memory)."""


def facts(study: Study, measurements: Measurements) -> tuple[ChemistryFact, ...]:
    """Return the facts of the medium, in the order in which a report tells them."""
    settings, injections = stress_settings(study), injection_setting(study)
    beds = beds_of(study, measurements)
    return (
        _scale_fact(),
        *(fact for setting in settings for fact in buffer_facts(setting)),
        *_of_injections(settings, injections),
        *_constants(settings),
        *_organic(settings),
        *marker_facts(study.markers, injections),
        *(solubility_fact(setting) for setting in settings),
        *bed_budget_facts(study, settings, beds),
        *bed_facts(study, beds),
    )


def _scale_fact() -> ChemistryFact:
    """Return on which scale every pH of the report stands."""
    return ChemistryFact(
        "ph-scale",
        "The scale of every pH here",
        "Every pH is that of the aqueous part before mixing, on the activity scale of the pH standards in "
        "water at the temperature given with it. It is not the pH of the mixture with organic solvent, "
        "nor the number a meter calibrated in water shows in that mixture.",
        "IUPAC recommendations on pH in water and in mixed solvents, 1985 and 2002; from memory",
        "Two studies agree in pH only if they agree in scale and temperature.",
    )


def _of_injections(settings: tuple[Setting, ...], injections: Setting) -> Iterator[ChemistryFact]:
    """Yield the pH of the injections where their mobile phase is not that of a stress."""
    stresses = [setting.conditions for setting in settings]
    if any(same_medium(stress, injections.conditions) for stress in stresses):
        return
    if any(same_bottle(stress, injections.conditions) for stress in stresses):
        yield ph_fact(injections)
    else:
        yield from buffer_facts(injections)


def _constants(settings: tuple[Setting, ...]) -> Iterator[ChemistryFact]:
    """Yield the constants of the stress buffer; they are the same at every setting."""
    medium = next((setting.medium for setting in settings if setting.medium is not None), None)
    if medium is not None:
        yield constants_fact(medium)


def _organic(settings: tuple[Setting, ...]) -> Iterator[ChemistryFact]:
    """Yield what the organic part does, which is bounded and not computed."""
    conditions = settings[0].conditions
    if not conditions.organic or not conditions.organic_percent:
        return
    tens = conditions.organic_percent / 10.0
    up, down = (
        f"{fixed(low * tens, 1)} to {fixed(high * tens, 1)}" for low, high in (ANION_SHIFT, CATION_SHIFT)
    )
    yield ChemistryFact(
        "organic-part",
        f"What {stated(conditions.organic_percent, '%')} {conditions.organic} does to the pH",
        "It is not computed. Buffers of neutral or negative acids (carbonate, borate, phosphate) rise by "
        f"roughly {up} in such a mixture, those of ammonium ions (ammonia, amines) fall by roughly {down}; "
        "bases among the markers lose basicity as the ammonium buffers do.",
        "Typical shifts per 10 % of acetonitrile or methanol, up to about half; from memory, rough",
        "An amine buffer and a basic marker move together, so their ionisation changes little; a "
        "phosphate buffer and a basic marker move apart, and the marker is then less ionised than the "
        "number in water says.",
    )
