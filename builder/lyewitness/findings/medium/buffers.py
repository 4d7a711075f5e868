"""What the chemistry of the mobile phase says, first of the buffer: pH when hot, range, capacity, air.

In: settings with their media. Out: `ChemistryFact`s.
"""

from collections.abc import Iterator, Sequence
from math import pow

from lyewitness.chemistry.equilibria import (
    CO2_IN_AIR_ATM,
    TABLE,
    amine_carried_off,
    co2_pressure_atm,
    equilibrium,
    ph_after_co2,
    ph_after_loss,
)
from lyewitness.chemistry.records import Ionisation, MediumNote, StressMedium
from lyewitness.chemistry.solvents import water_pk
from lyewitness.findings.medium.flow import bed_facts, beds_of
from lyewitness.findings.medium.markers import SENSITIVE_PERCENT, marker_facts
from lyewitness.findings.medium.retention_by_ph import Followed
from lyewitness.findings.medium.settings import (
    Setting,
    injection_setting,
    ph_interval,
    ph_stated,
    same_bottle,
    same_medium,
    stated,
    stress_settings,
)
from lyewitness.findings.medium.silica import bed_budget_facts, solubility_fact
from lyewitness.findings.records import ChemistryFact
from lyewitness.peaks.records import Measurements
from lyewitness.study.records import Study
from lyewitness.words.numbers import fixed, rounded, with_unit
from lyewitness.words.phrases import sentence

PH_METHOD = (
    "Charge balance with activity coefficients after Davies; pK from 25 °C by ΔH and ΔCp; bounds from the "
    "uncertainty of every constant, of the weighing (2 %), of the meter (0.05, above pH 12 0.10) and of the "
    "activity model. Ion pairs and carbamates are left out. Checked against the carbonate and borax pH "
    "standards over 0–50 °C."
)
# A millimole a kilogram, so that the reader can scale it.
CO2_UPTAKE_MOLAL = 0.001
# A tenth lost, so that the reader can scale it.
LOSS_SHARE = 0.1

_NOTES: dict[MediumNote, str] = {
    "out of range at the bench": (
        "At the bench no pK of this buffer lies within one unit of its pH: it hardly buffers there, and "
        "small errors of weighing move it."
    ),
    "out of range when hot": (
        "At the temperature of the column no pK of this buffer lies within one unit of the pH: it hardly "
        "buffers there."
    ),
    "strong base beyond the buffer": (
        "The free base alone does not reach the pH stated: either strong base was added, or concentration or "
        "pH is not what is written."
    ),
    "alkali disagrees with the pH": (
        "The hydroxide weighed in and the pH read do not belong together; the pH was taken. Carbon dioxide "
        "from the air or the electrode may be the cause."
    ),
    "acid below the buffer": (
        "The pH stated lies below that of the salt by itself, so acid was taken to have been added."
    ),
}
_OTHER_WAY = "Had a strong base raised it instead, that pH would lie near the upper bound."


def buffer_facts(setting: Setting) -> Iterator[ChemistryFact]:
    """Yield the pH of one setting, its range and capacity, and what the air does to it."""
    yield ph_fact(setting)
    if setting.medium is not None:
        yield _range_fact(setting, setting.medium)
        yield _air_fact(setting, setting.medium)


def ph_fact(setting: Setting) -> ChemistryFact:
    """Return the pH of one setting, or the reason why there is none."""
    medium = setting.medium
    name = f"pH at temperature, {setting.name}"
    if medium is None:
        text = f"The pH cannot be computed, because {setting.reason}."
        bearing = "What depends on the pH at temperature (ionisation, silica) is left open in this report."
        return ChemistryFact(f"{setting.id}-ph", name, text, PH_METHOD, bearing)
    text, bearing = _ph_text(setting, medium), _ph_bearing(setting, medium)
    return ChemistryFact(f"{setting.id}-ph", name, text, PH_METHOD, bearing, f"pH {ph_interval(medium.ph)}")


def constants_fact(medium: StressMedium) -> ChemistryFact:
    """Return the constants used, each with its uncertainty and source."""
    parts, sources, pks = [], [], []
    for name in medium.composition.totals_molal:
        for step in TABLE.protolytes[name].steps:
            parts.append(f"{name}: {_constant(step)}")
            sources.append(step.source)
            pks.append(f"pK {fixed(step.pk, 2)} ± {fixed(step.pk_uncertainty, 2)}")
    parts.append(f"water: pK {fixed(water_pk(25.0), 2)} ± 0.01")
    sources.append("Harned and Owen, The Physical Chemistry of Electrolytic Solutions, 1958; from memory")
    return ChemistryFact(
        "constants",
        "Constants of the buffer at 25 °C",
        sentence("; ".join(parts)) + " The ± are 95 % half widths.",
        "; ".join(dict.fromkeys(sources)),
        "‘From memory’ says that a value was recalled and not read again in the source; its bounds are set "
        "accordingly and carried into every pH here.",
        "; ".join(pks),
    )


def _constant(step: Ionisation) -> str:
    """Return pK, ΔH and ΔCp with their bounds."""
    heat = with_unit(f"{stated(step.enthalpy_kJ_mol)} ± {stated(step.enthalpy_uncertainty)}", "kJ/mol")
    capacity = with_unit(
        f"{stated(step.heat_capacity_J_mol_K)} ± {stated(step.heat_capacity_uncertainty)}", "J/(mol K)"
    )
    return f"pK {fixed(step.pk, 2)} ± {fixed(step.pk_uncertainty, 2)}, ΔH {heat}, ΔCp {capacity}"


def _ph_text(setting: Setting, medium: StressMedium) -> str:
    """Return what the pH was at the bench, what it is when hot, and how it was taken to be made."""
    bench, hot = (stated(at.temperature_C, "°C") for at in (medium.bench, medium.hot))
    concentration = f" ({stated(medium.weighed_mM, 'mmol/L')})" if medium.weighed_mM is not None else ""
    read = setting.conditions.ph
    at_bench = (
        f"pH {fixed(medium.bench.ph, 2)}, computed for {bench},"
        if read is None
        else f"pH {ph_stated(read)}, measured at {bench},"
    )
    addition = (
        f", which takes {with_unit(rounded(1000.0 * abs(medium.added_molal), 2), 'mmol')} a kilogram of water"
        if medium.added_molal
        else ""
    )
    return " ".join(
        (
            f"{medium.buffer.name.capitalize() if medium.buffer.name != 'CAPS' else 'CAPS'}{concentration}: "
            f"{at_bench} becomes pH {ph_interval(medium.ph)} at {hot}.",
            f"One degree more moves it by {fixed(_per_degree(medium), 2)}.",
            f"It was taken as {medium.buffer.weighed_as}, {medium.set_by}{addition}.",
            *([_OTHER_WAY] if medium.set_by.startswith("raised with") else []),
            *_notes(medium),
        )
    )


def _notes(medium: StressMedium) -> Iterator[str]:
    """Yield what composition and pH say about each other; out of range at both ends is said once."""
    both: tuple[MediumNote, ...] = ("out of range at the bench", "out of range when hot")
    if set(both) <= set(medium.notes):
        yield (
            "Neither at the bench nor at the temperature of the column does a pK of this buffer lie within "
            "one unit of its pH: it hardly buffers, and small errors of weighing move it."
        )
    yield from (_NOTES[n] for n in medium.notes if not (n in both and set(both) <= set(medium.notes)))


def _warm(medium: StressMedium) -> str:
    """Return the temperature of the column."""
    return stated(medium.hot.temperature_C, "°C")


def _per_degree(medium: StressMedium) -> float:
    """Return how far one degree moves the hot pH."""
    warmer = equilibrium(medium.composition, medium.hot.temperature_C + 1.0)
    return warmer.ph - medium.hot.ph


def _ph_bearing(setting: Setting, medium: StressMedium) -> str:
    """Return how far the pH moved and what the attack on silica feels of it, the hydroxide."""
    moved = medium.hot.ph - medium.bench.ph
    direction = "lower" if moved < 0 else "higher"
    apart = f"{with_unit(fixed(abs(moved), 2), 'units')} {direction} than that of the bottle"
    if setting.id == "test":
        return f"The charge of the markers was calculated for this pH, {apart}."
    cold, hot = (
        with_unit(rounded(1000.0 * pow(10.0, at.ph - water_pk(at.temperature_C)), 2), "mmol/kg")
        for at in (medium.bench, medium.hot)
    )
    bench = "as at the bench" if cold == hot else f"and {cold} at the bench"
    comma = "," if cold == hot else ""
    return (
        f"The columns met a pH {apart}. The activity of hydroxide, which attacks silica, is {hot} at that "
        f"temperature{comma} {bench}. Compare with other studies at the same temperature and pH "
        "there, or not at all."
    )


def _range_fact(setting: Setting, medium: StressMedium) -> ChemistryFact:
    """Return how well the buffer holds its pH."""
    capacity = with_unit(rounded(medium.capacity_mM, 2), "mmol")
    if medium.nearest_pk is None:
        text = "Hydroxide alone has no pK near its pH; it holds it by its own concentration. "
    else:
        distance = abs(medium.nearest_pk - medium.hot.ph)
        place = "within" if distance <= 1.0 else "beyond"
        text = (
            f"The nearest pK at {_warm(medium)}, activities included, is {fixed(medium.nearest_pk, 2)}: "
            f"{place} the one unit in which a buffer works, at {fixed(distance, 2)} from the pH. "
        )
    return ChemistryFact(
        f"{setting.id}-capacity",
        f"Range and capacity of the buffer, {setting.name}",
        text + f"It takes {capacity} of strong acid or base a kilogram of water to move it by one pH unit.",
        "Van Slyke’s buffer capacity from the same charge balance; within one unit of pK: common practice",
        f"One mmol/kg of anything acid or alkaline moves the pH at {_warm(medium)} by about "
        f"{rounded(1.0 / medium.capacity_mM, 2)}: a leak of air into the bottle, dissolved silica, a rinse.",
        f"{with_unit(rounded(medium.capacity_mM, 2), 'mmol/kg')} a pH unit",
    )


def _air_fact(setting: Setting, medium: StressMedium) -> ChemistryFact:
    """Return what the air takes out and brings in, and what that does to the hot pH."""
    hot_C = medium.hot.temperature_C
    by_co2 = ph_after_co2(medium.composition, CO2_UPTAKE_MOLAL, hot_C) - medium.hot.ph
    parts = [
        f"One mmol/kg of carbon dioxide from the air moves the pH at {_warm(medium)} by {fixed(by_co2, 2)}."
    ]
    pressure = co2_pressure_atm(medium.composition, medium.bench)
    if pressure is not None:
        parts.append(_co2_sentence(pressure))
    carried = amine_carried_off(medium.composition, medium.bench)
    if carried is not None:
        name, share = carried
        moved = ph_after_loss(medium.composition, name, LOSS_SHARE, hot_C) - medium.hot.ph
        parts.append(
            "A litre of gas led through a litre of buffer at the bench carries off up to "
            f"{with_unit(rounded(100.0 * share, 2), '%')} of the {name} (good to a factor of two); once a "
            f"tenth of it is gone the pH at {_warm(medium)} has moved by {fixed(moved, 2)}."
        )
    return ChemistryFact(
        f"{setting.id}-air",
        f"Exchange with the air, {setting.name}",
        " ".join(parts),
        "Henry constants after Sander, Atmos. Chem. Phys. 2015, 15, 4399, and for carbon dioxide Plummer and "
        "Busenberg, Geochim. Cosmochim. Acta 1982, 46, 1011; both from memory",
        "A pH that drifts over days in the bottle looks like a column that changes, in all columns alike.",
        f"{fixed(by_co2, 2)} pH a mmol/kg of CO₂",
    )


def _co2_sentence(pressure_atm: float) -> str:
    """Return which way carbon dioxide goes between bottle and air."""
    ratio = pressure_atm / CO2_IN_AIR_ATM
    if ratio > 1.0:
        return (
            f"At the bench the pressure of carbon dioxide over it is about {rounded(ratio, 2)} times that "
            "of the air, so it loses carbon dioxide and its pH rises as it stands."
        )
    return (
        f"At the bench the pressure of carbon dioxide over it is about {rounded(ratio, 2)} of that of the "
        "air, so it takes carbon dioxide up and its pH falls as it stands."
    )


ANION_SHIFT = (0.1, 0.3)
CATION_SHIFT = (0.0, 0.2)
"""pH units for every 10 % by volume of acetonitrile or methanol, up to about half (from memory)."""


def facts(
    study: Study, measurements: Measurements, followed: Sequence[Followed] = ()
) -> tuple[ChemistryFact, ...]:
    """Return the facts of the medium, in the order in which a report tells them.

    `followed`: how the retention of bases and acids followed the logged pH.
    """
    moved = {one.marker: one.words for one in followed if one.most_percent >= SENSITIVE_PERCENT}
    settings, injections = stress_settings(study), injection_setting(study)
    beds = beds_of(study, measurements)
    return (
        _scale_fact(),
        *(fact for setting in settings for fact in buffer_facts(setting)),
        *_of_injections(settings, injections),
        *_constants(settings),
        *_organic(settings),
        *marker_facts(study.markers, injections, moved),
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
        "The pH of the mixture is not computed. Buffers of neutral or negative acids (carbonate, borate, "
        f"phosphate) rise by roughly {up} in such a mixture, those of ammonium ions (ammonia, amines) "
        f"fall by roughly {down}; "
        "bases among the markers lose basicity as the ammonium buffers do.",
        "Typical shifts per 10 % of acetonitrile or methanol, up to about half; from memory, rough",
        "An amine buffer and a basic marker move together, so their ionisation changes little; a "
        "phosphate buffer and a basic marker move apart, and the marker is then less ionised than the "
        "number in water says.",
    )
