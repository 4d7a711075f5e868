"""Safety cautions that the study's own conditions call for.

In: the study's conditions of stress and test. Out: `Caution`s in a colleague's voice, the first and the
last of which send the reader to the safety data sheets, the local rules and the people who know.

No limit of exposure, and no advice beyond rinsing, getting help and following the data sheet.
"""

from collections.abc import Callable, Iterable, Mapping
from types import MappingProxyType

from lyewitness.chemistry.hazards import Circumstances, Hazard, HazardKind, Solvent, hazards
from lyewitness.findings.medium.settings import ph_stated, stated
from lyewitness.findings.records import Caution
from lyewitness.study.records import Conditions, Study
from lyewitness.words.numbers import fixed, with_unit
from lyewitness.words.phrases import sentence


def _plain(text: str) -> Callable[[Iterable[Solvent]], str]:
    """Return a writer of a text that names no substance."""
    return lambda substances: text


def _points(substances: Iterable[Solvent], state: str) -> str:
    """Return a sentence with the handbook values of each substance."""
    return " ".join(
        f"{substance.name.capitalize()}{state} boils at about "
        f"{with_unit(fixed(substance.boiling_C, 0), '°C')} and has a flash point of about "
        f"{with_unit(fixed(substance.flash_C, 0), '°C')} "
        "(handbook values; the data sheet counts)."
        for substance in substances
    )


def _hot_solvent(substances: Iterable[Solvent]) -> str:
    return (
        f"{_points(substances, '')} Mixed with water it lights less readily, yet its vapour is the same. The "
        "column holds it under pressure and warm: what "
        "escapes from a fitting fills a warm closed box with vapour that burns. Keep the leak sensor "
        "working, the compartment and the waste bottle ventilated, sparks and hot plates away; let the "
        "column cool under flow before you open anything, and release the pressure first."
    )


def _flammable(substances: Iterable[Solvent]) -> str:
    return (
        f"{_points(substances, '')} Mixed with water it lights less readily, yet its vapour is the same. "
        "Keep it away from sparks and hot surfaces, close bottles, vent the waste container through its "
        "filter, and keep no more at the instrument than the run needs."
    )


def _toxic(substances: Iterable[Solvent]) -> str:
    told = "; ".join(f"{substance.name} {substance.toxic}" for substance in substances)
    return (
        f"Mind that {told}. Fill bottles in the hood, wear the gloves that the data sheet names for this "
        "solvent, and change them when they are wetted. After contact: rinse, get help, follow the data "
        "sheet."
    )


def _neat_amine(substances: Iterable[Solvent]) -> str:
    known = _points(substances, ", undiluted,")
    first = f"{known} It is corrosive too." if known else "Undiluted it burns and is corrosive."
    return (
        f"{first} You meet it in this state only while "
        "you make the buffer: do that in the hood, add the amine to the water, not the water to it, and "
        "expect heat when you neutralise it with acid."
    )


TEXTS: Mapping[HazardKind, tuple[str, Callable[[Iterable[Solvent]], str]]] = MappingProxyType(
    {
        "corrosive alkali": (
            "Corrosive alkali: eyes and skin",
            _plain(
                "Alkali of this strength eats into skin and, worst, into eyes, often with little pain at "
                "first. Wear tight goggles rather than spectacles, gloves and a closed coat, most of all "
                "when you open a fitting: a jet from a column under pressure reaches the face. Know where "
                "the eye wash is before you begin. After contact: rinse at once and for long, get help, "
                "follow the data sheet."
            ),
        ),
        "mild alkali": (
            "Alkaline mobile phase: eyes and skin",
            _plain(
                "The mixture irritates eyes and skin, and the stock it is made from is stronger. Wear eye "
                "protection and gloves, also for changing a column. After contact: rinse, get help, follow "
                "the data sheet."
            ),
        ),
        "amine vapour": (
            "Amine vapour",
            _plain(
                "The amine leaves the solution as vapour, the more so the higher the pH and the warmer the "
                "bottle. It irritates eyes and airways at little more than the smell. Make and pour it in "
                "the hood, keep eluent and waste bottles capped with a vent to the extraction, and do not "
                "sparge it into the room."
            ),
        ),
        "ammonia vapour": (
            "Ammonia vapour",
            _plain(
                "Ammonia leaves the solution as gas, the more so the higher the pH and the warmer the "
                "bottle. Open concentrated ammonia only in the hood and with eye protection, since a warm "
                "bottle can spit; keep eluent and waste bottles capped with a vent to the extraction."
            ),
        ),
        "neat amine flammable": ("The undiluted amine is flammable", _neat_amine),
        "hot flammable solvent": ("Hot flammable solvent under pressure", _hot_solvent),
        "flammable solvent": ("Flammable solvent", _flammable),
        "toxic solvent": ("Poisonous solvent", _toxic),
        "peroxide-forming solvent": (
            "Peroxides in the solvent",
            _plain(
                "This solvent forms peroxides on standing in air, which can explode when it is distilled "
                "or left to dry, and which attack columns. Note the day you opened it, test it, and never "
                "let it evaporate to dryness."
            ),
        ),
        "solvent of unknown hazards": (
            "A solvent this list does not know",
            _plain(
                "The hazards of this solvent are not in the tables behind this list. Take it as flammable "
                "and harmful until its data sheet tells you otherwise, and ask whether it bears hot alkali "
                "at all: chlorinated solvents and esters do not, and ketones may not."
            ),
        ),
        "gas from carbonate": (
            "Gas from carbonate or bicarbonate",
            _plain(
                "On warming bicarbonate gives off carbon dioxide, and on meeting acid carbonate of any "
                "kind does so at once and foams over. Never close a warm bottle of it tightly, never "
                "acidify it in a closed vessel, and rinse the lines with water before an acid wash follows "
                "it."
            ),
        ),
        "borate and reproduction": (
            "Borate may harm fertility and the unborn child",
            _plain(
                "Boric acid and borates are classified as toxic to reproduction in the European Union. Weigh "
                "them without raising dust, wear gloves, and ask your safety people what holds for those who "
                "are or may be pregnant."
            ),
        ),
        "leak in a heated compartment": (
            "A leak in a heated compartment",
            _plain(
                "A drip that would be seen on the bench dries to vapour and alkali crust in a warm "
                "compartment. Check the leak sensor before a long run, set an upper and a lower pressure "
                "limit that stops the pump, do not leave the first hours unattended, and let the "
                "compartment air out before you lean into it."
            ),
        ),
        "hot surfaces": (
            "Hot metal and hot liquid",
            _plain(
                "Column, heater and the liquid in them burn the skin at this temperature. Cool under flow "
                "before you touch a fitting, and remember that liquid above its boiling point flashes when "
                "the pressure goes."
            ),
        ),
        "salt precipitation": (
            "Salt that falls out",
            _plain(
                "With so much organic solvent the salt may crystallise, in the mixer or when the pump "
                "stops, block a line and send the pressure up. Test the mixture in a vial, at room "
                "temperature too, and rinse with the same ratio of water and solvent before you go to pure "
                "solvent."
            ),
        ),
        "alkali eats the solvent": (
            "Strong alkali eats acetonitrile",
            _plain(
                "Strong alkali hydrolyses acetonitrile, the faster the warmer, with heat and with "
                "ammonia. Mix no more than the day needs, never concentrated hydroxide into acetonitrile, "
                "and leave neither bottle nor waste container of the two tightly closed."
            ),
        ),
        "alkali on materials": (
            "What alkali does to glass, fused silica and seals",
            _plain(
                "Alkali dissolves glass and fused silica: store the buffer in plastic, and mind glass "
                "bottles, capillaries and detector windows in its way. It ages seals and rotor faces and "
                "crusts behind pistons as it dries. Rinse the seals, wash the whole system with water and "
                "solvent after the run, never leave alkali standing in it, and ask the maker what each "
                "part bears."
            ),
        ),
        "waste": (
            "Keep the waste apart",
            _plain(
                "Collect alkaline waste on its own, in plastic, with a vent. No acid into it: neutralising "
                "heats, and with carbonate foams. No halogenated solvent to amines or alkali, with which "
                "it can react violently; no bleach to ammonia or amines, which gives poisonous "
                "chloramines; no oxidising acid to organic solvent. Label what is in it, pH too, and let "
                "those who take it away say how they want it."
            ),
        ),
    }
)


BRIEFLY: Mapping[HazardKind, str] = MappingProxyType(
    {
        "corrosive alkali": "the mobile phase is corrosive to eyes and skin: wear goggles and gloves",
        "hot flammable solvent": "the hot solvent is flammable and under pressure: let the column cool first",
        "toxic solvent": "the solvent is toxic: fill bottles in the hood, with gloves",
        "alkali eats the solvent": "strong alkali breaks acetonitrile down: mix no more than the day needs",
        "peroxide-forming solvent": "the solvent forms peroxides in air: date it, test it, never dry it",
        "gas from carbonate": "carbonate gives off gas with heat or acid: never close a warm bottle tightly",
        "solvent of unknown hazards": "the hazards of the solvent are not known: read its data sheet",
        "mild alkali": "the mobile phase irritates eyes and skin: wear eye protection and gloves",
        "amine vapour": "the amine leaves the solution as vapour: pour it in the hood, vent eluent and waste",
        "ammonia vapour": "ammonia leaves the solution as gas: pour it in the hood, vent eluent and waste",
        "borate and reproduction": "borates may harm fertility and the unborn child: raise no dust",
        "neat amine flammable": "the undiluted amine is flammable and corrosive: dilute it in the hood",
        "flammable solvent": "the solvent is flammable: keep sparks and hot surfaces away",
        "leak in a heated compartment": "nobody sees a leak in the warm oven: check its sensor first",
        "hot surfaces": "column and heater burn the skin: let them cool under flow before you touch them",
        "salt precipitation": "so much organic solvent may precipitate the salt: test the mixture in a vial",
        "alkali on materials": "alkali dissolves glass and fused silica: keep it in plastic, rinse it out",
        "waste": "keep alkaline waste apart, in plastic with a vent, and let no acid into it",
    }
)
"""Each in one plain sentence, the most urgent first: what harms a person, then what harms the system."""


def most_urgent(found: Iterable[Caution], most: int) -> tuple[Caution, ...]:
    """Return at most so many of the cautions, the most urgent first; those of every study are no part."""
    order = [_id_of(kind) for kind in BRIEFLY]
    return tuple(sorted((one for one in found if one.brief), key=lambda one: order.index(one.id))[:most])


def _id_of(kind: HazardKind) -> str:
    return kind.replace(" ", "-")


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
    brief = sentence(BRIEFLY[kind])
    return Caution(_id_of(kind), title, write(substances.values()), called_for_by, brief)
