"""Facts of silica: how much the medium could hold, and whether that could have emptied the beds.

In: settings with their media, beds. Out: `ChemistryFact`s.
"""

from collections.abc import Iterator
from dataclasses import dataclass

from lyewitness.chemistry.bed import (
    CARBON,
    MONOMERS,
    UNFAVOURABLE,
    USUAL,
    WITHOUT_SILICA,
    SilicaConstants,
    silica_at_ph,
    silica_in_bed,
    silica_in_medium,
)
from lyewitness.chemistry.records import NotComputableError, StressMedium
from lyewitness.chemistry.solvents import water_density
from lyewitness.findings.medium.flow import Bed, spread
from lyewitness.findings.medium.settings import Setting, stated
from lyewitness.findings.records import ChemistryFact
from lyewitness.study.records import Study
from lyewitness.words.estimates import Estimate
from lyewitness.words.names import joined
from lyewitness.words.numbers import fixed, interval, rounded, with_unit

SOLUBILITY_SOURCE = (
    "Amorphous silica after Fournier and Rowe, Am. Mineral. 1977, 62, 1052 (± 10 %), with both "
    "ionisations (Busey and Mesmer 1977, Sjöberg 1996; from memory), silicate clusters (NEA 1992; from "
    "memory) and activities after Davies; upper bound: neutral silica 30 % higher, pK 0.1 lower, clusters "
    "three times as stable"
)
BED_SOURCE = (
    "Silica held as told for the medium, upper bound; silica of the bed: (1 − hold-up share) × column "
    "volume × density × share of silica, ranges for this kind of particle (common practice, rough); "
    "volume passed from the record"
)
PLENTY = 1.0
"""Share of a bed from which solubility sets no limit to what was seen."""
TOO_LITTLE = 0.01
"""Share of a bed below which dissolution of particles is out of the question."""
_NO_SILICA = (
    "Particles of this kind hold no silica to dissolve.",
    "A decline of this group is not dissolution of silica.",
)
_CARBON = (
    "Porous graphitic carbon holds no silica to dissolve and bears no silanols; it is stable at every pH at "
    "which mobile phases are used.",
    "A decline of this group is neither dissolution nor silanols. What settles on carbon is held strongly, "
    "and its retention follows how far its surface was oxidised or reduced: wash it, or let it come to rest "
    "again, before a loss of retention is called its end.",
)


@dataclass(frozen=True, slots=True)
class Budget:
    """What could have left one bed."""

    bed: Bed
    silica_mg: Estimate
    at_most_mg: float
    """Dissolved in all the mobile phase that passed, had each drop been saturated."""
    tenth_h: float | None
    """Hours at the stress flow in which a tenth of the least silica could have gone, at the earliest."""

    @property
    def at_most_share(self) -> float | None:
        """Return that as a share of the least silica the bed can hold."""
        return self.at_most_mg / self.silica_mg.low if self.silica_mg.low else None


def solubility_fact(setting: Setting) -> ChemistryFact:
    """Return how much silica the medium can hold when hot."""
    name = f"Silica the medium can hold, {setting.name}"
    value = ""
    try:
        medium = _medium_of(setting)
        text, bearing = _solubility_text(medium), _SOLUBILITY_BEARING
        bound = silica_in_medium(medium.composition, medium.hot.temperature_C, UNFAVOURABLE)
        value = f"at most {_mg(bound.silica_mg_kg)}/kg"
    except NotComputableError as missing:
        text = f"The solubility cannot be computed, because {missing}."
        bearing = "Whether dissolution could have emptied the beds is left open."
    return ChemistryFact(f"{setting.id}-silica", name, text, SOLUBILITY_SOURCE, bearing, value)


_SOLUBILITY_BEARING = (
    "It bounds what can dissolve, and says nothing of how fast: that is for the columns to show. Mobile "
    "phase saturated with silica before it reaches the column can take none from it. Organic solvent "
    "lowers the solubility, so for the mixture it remains an upper bound."
)


def bed_budget_facts(
    study: Study, settings: tuple[Setting, ...], beds: tuple[Bed, ...]
) -> Iterator[ChemistryFact]:
    """Yield for every group whether the volume passed could have dissolved its beds."""
    for group in study.groups:
        yield _group_fact(study, group, settings, tuple(bed for bed in beds if bed.column.group == group))


def upper_bound(setting: Setting) -> float:
    """Return the upper bound of silica in mobile phase, mg/mL; NotComputableError without a pH."""
    return saturated_with(setting, UNFAVOURABLE)


def saturated_with(setting: Setting, constants: SilicaConstants) -> float:
    """Return silica in saturated mobile phase, mg/mL; NotComputableError without a pH.

    The organic part is taken to hold none, and to shrink nothing.
    """
    medium = _medium_of(setting)
    held = silica_in_medium(medium.composition, medium.hot.temperature_C, constants).silica_mg_kg
    organic = (setting.conditions.organic_percent or 0.0) / 100.0 if setting.conditions.organic else 0.0
    return held / 1000.0 * water_density(medium.bench.temperature_C) * (1.0 - organic)


def _medium_of(setting: Setting) -> StressMedium:
    """Return the medium, or raise with the reason for none."""
    if setting.medium is None:
        raise NotComputableError(setting.reason)
    return setting.medium


def _solubility_text(medium: StressMedium) -> str:
    """Return the amount held once the buffer has given way, and that at a pH kept constant."""
    hot_C = medium.hot.temperature_C
    single, usual, bound = (
        silica_in_medium(medium.composition, hot_C, constants)
        for constants in (MONOMERS, USUAL, UNFAVOURABLE)
    )
    amounts = dict.fromkeys((_mg(single.silica_mg_kg), _mg(usual.silica_mg_kg)))
    text = (
        f"At {stated(hot_C, '°C')} this buffer can take up {' to '.join(amounts)} of silica a kilogram of "
        f"water, without and with clusters of silicate, at most {_mg(bound.silica_mg_kg)}; by then its pH "
        f"has fallen from {fixed(medium.hot.ph, 2)} to {fixed(usual.ph, 2)}, because every silicate ion "
        "uses up alkali."
    )
    return f"{text} With the pH kept where it is it would be {_at_kept_ph(medium)}."


def _at_kept_ph(medium: StressMedium) -> str:
    """Return what is held at a pH kept constant, in words; single ions alone where clusters go too far."""
    ph, hot_C = medium.hot.ph, medium.hot.temperature_C
    for constants, words in ((USUAL, ""), (MONOMERS, "more than ")):
        try:
            return words + _mg(silica_at_ph(ph, hot_C, constants).silica_mg_kg)
        except NotComputableError:
            continue
    return "more than the activity coefficients cover"


def _mg(value_mg: float) -> str:
    """Return a mass with the two figures it deserves, in grams from one gram on."""
    two_figures = float(f"{value_mg:.2g}")
    if two_figures >= 1000.0:
        return with_unit(rounded(two_figures / 1000.0, 2), "g")
    return with_unit(rounded(two_figures, 2), "mg")


def _group_fact(
    study: Study, group: str, settings: tuple[Setting, ...], beds: tuple[Bed, ...]
) -> ChemistryFact:
    """Return what could have left the beds of one group, against what they hold."""
    if all(bed.column.particle == CARBON for bed in beds):
        return _fact(group, *_CARBON)
    if all(bed.column.particle in WITHOUT_SILICA for bed in beds):
        return _fact(group, *_NO_SILICA)
    try:
        budgets = [_budget(bed, settings) for bed in beds]
    except NotComputableError as missing:
        text = f"What can have dissolved cannot be computed, because {missing}."
        return _fact(group, text, "Whether dissolution could explain a loss is left open for this group.")
    most = max(budgets, key=lambda budget: budget.at_most_share or 0.0)
    share = most.at_most_share or 0.0
    held = Estimate(
        None,
        min(budget.silica_mg.low or 0.0 for budget in budgets),
        max(budget.silica_mg.high or 0.0 for budget in budgets),
    )
    passed = spread((budget.bed.passed_mL for budget in budgets), "mL")
    text = (
        f"A bed holds {interval(held, 'mg')} of silica. {passed[0].upper()}{passed[1:]} of mobile phase "
        f"went through; had every drop left saturated, {_mg(most.at_most_mg)} could have gone with it at "
        f"most, {_share_words(share)} of {most.bed.column.id}."
    )
    earliest = [budget.tenth_h for budget in budgets if budget.tenth_h is not None]
    if earliest:
        text += f" A tenth of a bed cannot have gone before {with_unit(rounded(min(earliest), 2), 'h')}."
    value = f"at most {_mg(most.at_most_mg)}; a bed holds {interval(held, 'mg')}"
    return _fact(group, text, _budget_bearing(share, most.bed), value)


def _fact(group: str, text: str, bearing: str, value: str = "") -> ChemistryFact:
    return ChemistryFact(
        joined("dissolution", group),
        f"Could the bed of {group} have dissolved?",
        text,
        BED_SOURCE,
        bearing,
        value,
    )


def _budget(bed: Bed, settings: tuple[Setting, ...]) -> Budget:
    """Return the budget of one bed; NotComputableError where a part of it is not known."""
    setting = next(each for each in settings if bed.column.id in each.columns)
    if bed.volume_mL is None:
        raise NotComputableError(f"the dimensions of {bed.column.id} are not stated")
    silica = silica_in_bed(bed.column.particle, bed.volume_mL, bed.hold_up_share)
    if silica.value is None:
        raise NotComputableError(silica.reason)
    if bed.passed_mL is None:
        raise NotComputableError(f"the volume that passed {bed.column.id} is not known")
    held_mg_mL = upper_bound(setting)
    flow = setting.conditions.flow_mL_min
    # A flow so small that the product vanishes gives no time either.
    held_mg_h = held_mg_mL * (flow or 0.0) * 60.0
    tenth_h = 0.1 * (silica.low or 0.0) / held_mg_h if held_mg_h > 1e-12 else None
    return Budget(bed, silica, bed.passed_mL * held_mg_mL, tenth_h)


def _share_words(share: float) -> str:
    """Return a share of the least silica a bed can hold, in words."""
    if share >= PLENTY:
        return f"{rounded(share, 2)} times the silica"
    return f"{with_unit(rounded(100.0 * share, 2), '%')} of the silica"


def _budget_bearing(share: float, bed: Bed) -> str:
    """Return whether a loss can be dissolution at all."""
    if share >= PLENTY:
        return (
            "Solubility sets no limit here: the loss seen can be dissolution, and whether it is depends "
            "on how fast the particle gives way, which the columns show and this number does not."
        )
    if share < TOO_LITTLE:
        return (
            "So little can have dissolved that a loss of the bed is out of the question. A decline seen "
            "here has another cause: loss of bonded phase, a blocked inlet, or the system."
        )
    length = bed.column.length_mm or 0.0
    return (
        "Not the whole bed can have gone, but dissolution starts at the inlet, where the mobile phase "
        f"arrives empty: all of it taken from there would be {with_unit(rounded(share * length, 2), 'mm')} "
        "of bed, and a void of half a millimetre already costs plates."
    )
