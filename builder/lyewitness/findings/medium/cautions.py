"""Safety cautions that the study's own conditions call for.

In: the study's conditions of stress and test. Out: `Caution`s in a colleague's voice, the first and the
last of which send the reader to the safety data sheets, the local rules and the people who know.
"""

from lyewitness.chemistry.hazards import Circumstances, Hazard, HazardKind, hazards
from lyewitness.findings.medium.caution_texts import TEXTS
from lyewitness.findings.medium.settings import ph_stated, stated
from lyewitness.findings.records import Caution
from lyewitness.study.records import Conditions, Study

FIRST = Caution(
    "data-sheets-first",
    "Safety data sheets, local rules and qualified people come first",
    "What follows are reminders drawn from the conditions of this study. They replace nothing: read the "
    "safety data sheets of the bottles you have, keep to the rules of your laboratory and your country, and "
    "ask the people who are trained to judge the risk. Where they say otherwise, they are right.",
    "every study",
)
LAST = Caution(
    "ask-before-you-start",
    "If in doubt, stop and ask",
    "This list knows only what the study folder says of its mobile phases. It does not know your "
    "instrument, your ventilation, your waste streams or what else stands in the room. Before you repeat "
    "any of this, let your safety data sheets, your local rules and a qualified person have the last word.",
    "every study",
)


def cautions(study: Study) -> tuple[Caution, ...]:
    """Return the cautions for stress and test together, each once, with everything that calls for it."""
    found: dict[HazardKind, list[Hazard]] = {}
    for circumstances in _circumstances(study):
        for hazard in hazards(circumstances):
            found.setdefault(hazard.kind, []).append(hazard)
    if "corrosive alkali" in found:
        found.pop("mild alkali", None)
    if "hot flammable solvent" in found:
        found.pop("flammable solvent", None)
    ordered = (kind for kind in TEXTS if kind in found)
    return (FIRST, *(_caution(kind, found[kind]) for kind in ordered), LAST)


def _circumstances(study: Study) -> tuple[Circumstances, ...]:
    """Return stress, test, and every column whose temperature or pH differs from the stress."""
    own = {
        (column.temperature_C, column.ph)
        for column in study.columns
        if column.temperature_C is not None or column.ph is not None
    }
    settings = sorted(own, key=lambda pair: tuple((value is not None, value or 0.0) for value in pair))
    return (
        _said(study.stress, study.stress.temperature_C, study.stress.ph),
        *(
            _said(
                study.stress,
                study.stress.temperature_C if temperature is None else temperature,
                study.stress.ph if ph is None else ph,
            )
            for temperature, ph in settings
        ),
        _said(study.test, study.test.temperature_C, study.test.ph),
    )


def _said(conditions: Conditions, temperature_C: float | None, ph: float | None) -> Circumstances:
    """Return the conditions with the words in which the report names them."""
    buffer = conditions.buffer or "buffer not stated"
    if conditions.buffer and conditions.buffer_mM is not None:
        buffer = f"{buffer}, {stated(conditions.buffer_mM, 'mmol/L')}"
    organic = conditions.organic
    if organic and conditions.organic_percent is not None:
        organic = f"{organic}, {stated(conditions.organic_percent, '%')}"
    said = {
        "buffer": buffer,
        "organic": organic,
        "ph": "pH not stated; assumed alkaline" if ph is None else f"pH {ph_stated(ph)}",
        "temperature": "temperature not stated" if temperature_C is None else stated(temperature_C, "°C"),
        "mobile phase": f"{buffer}; {organic}" if organic else buffer,
    }
    return Circumstances(
        conditions.buffer, ph, conditions.organic, conditions.organic_percent, temperature_C, said
    )


def _caution(kind: HazardKind, found: list[Hazard]) -> Caution:
    """Return the caution of one kind, with each condition that calls for it named once."""
    title, write = TEXTS[kind]
    substances = {hazard.substance.name: hazard.substance for hazard in found if hazard.substance is not None}
    called_for_by = "; ".join(dict.fromkeys(hazard.called_for_by for hazard in found))
    return Caution(kind.replace(" ", "-"), title, write(substances.values()), called_for_by)
