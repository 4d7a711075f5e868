"""Facts of the markers: how far they are ionised, and how much their retention feels the pH.

In: the study's markers and the medium of the injections. Out: `ChemistryFact`s.

How far they bear a charge, and how far their retention can follow the pH, in shares and per cent.
"""

from collections.abc import Iterator, Mapping
from types import MappingProxyType
from typing import Literal

from lyewitness.chemistry.equilibria import (
    IonisableRole,
    ionised,
    ionised_share,
    pka_at,
    retention_change_percent,
)
from lyewitness.findings.medium.settings import Setting, injection_setting, ph_interval, stated
from lyewitness.findings.records import ChemistryFact
from lyewitness.study.records import Marker, Study
from lyewitness.words.estimates import Estimate
from lyewitness.words.numbers import fixed, interval, rounded, with_unit
from lyewitness.words.phrases import sentence

AN_ION = 0.001
"""Share without a charge below which an ion alone is retained: it would have to hold a thousand times better,
and neutral forms are retained ten to a hundred times as well as their ions (common practice)."""


def retention_swing_percent(study: Study, marker: Marker, low_ph: float, high_ph: float) -> float | None:
    """Return by how many % a base or acid is retained less at one end of a range of pH than at the other.

    Its ion is taken as not retained (Horváth, Melander and Molnár 1977), which is the most that can happen;
    but what is all but an ion throughout, and is retained, is retained as one: 0. None without a pKa.
    """
    if marker.role not in ("base", "acid") or marker.pka is None:
        return None
    ends = [1 - _charged(study, marker, ph) for ph in (low_ph, high_ph)]
    if max(ends) < AN_ION:
        return 0.0
    return 100 * (1 - min(ends) / max(ends))


def charged_share(study: Study, marker: Marker) -> float | None:
    """Return the largest share of a base or acid that bears a charge at the pH of injections and log."""
    if marker.role not in ("base", "acid") or marker.pka is None:
        return None
    logged = [row.ph for row in study.conditions if row.ph is not None]
    stated = study.test.ph
    known = [*logged, *([stated] if stated is not None else [])]
    return max(_charged(study, marker, ph) for ph in (min(known), max(known))) if known else None


def _charged(study: Study, marker: Marker, ph: float) -> float:
    """Return the share that bears a charge at a pH read on the bench, carried to the column's temperature."""
    setting = injection_setting(study)
    role: Literal["base", "acid"] = "base" if marker.role == "base" else "acid"
    pka, shift = marker.pka or 0.0, 0.0
    stated = setting.conditions.ph
    if setting.medium is not None and setting.medium.ph.value is not None and stated is not None:
        pka = pka_at(pka, role, setting.medium.hot.temperature_C).value or pka
        shift = setting.medium.ph.value - stated
    return ionised_share(ph + shift, pka, role)


SOURCE = (
    "Henderson and Hasselbalch in water; pKa carried to the temperature with the range of enthalpies of its "
    "kind of compound (Christensen, Hansen and Izatt 1976; ranges from memory); retention after Horváth, "
    "Melander and Molnár, Anal. Chem. 1977, 49, 142, the ion taken as not retained"
)
SENSITIVE_PERCENT = 3.0
"""Change of the retention factor per 0.1 pH from which a drifting pH could pass for a changing column."""


def marker_facts(
    markers: tuple[Marker, ...], setting: Setting, moved: Mapping[str, str] = MappingProxyType({})
) -> Iterator[ChemistryFact]:
    """Yield one fact for every base and acid among the markers.

    `moved`: by marker, how far the pH of the log can have moved its retention, where that is much.
    """
    for marker in markers:
        if marker.role == "base":
            yield _fact(marker, "base", setting, moved.get(marker.id, ""))
        elif marker.role == "acid":
            yield _fact(marker, "acid", setting, moved.get(marker.id, ""))


def _fact(marker: Marker, role: IonisableRole, setting: Setting, moved: str) -> ChemistryFact:
    """Return the fact of one marker, or why there is none."""
    name = f"Ionisation of {marker.id}"
    if marker.pka is None:
        return _open(marker, name, "no pKa is stated for it")
    if setting.medium is None:
        return _open(marker, name, f"its pH at temperature is not known: {setting.reason}")
    ph, temperature_C = setting.medium.ph, setting.medium.hot.temperature_C
    pka = pka_at(marker.pka, role, temperature_C)
    share = ionised(ph, pka, role)
    change = retention_change_percent(setting.medium.hot.ph, pka.value or marker.pka, role)
    if share.low is not None and share.low > 1 - AN_ION:
        return ChemistryFact(
            f"ionisation-{marker.id}", name, _as_ion(marker, role, pka, setting), SOURCE, ION_BEARING
        )
    sign = "more" if change > 0 else "less"
    kind = "a base" if role == "base" else "an acid"
    text = (
        f"{marker.id[:1].upper()}{marker.id[1:]}, {kind} of pKa {stated(marker.pka)} at 25 °C, "
        f"has a pKa of about {interval(pka)} at {stated(temperature_C, '°C')}. At pH "
        f"{ph_interval(ph)} {interval(percent(share), '%')} of it bears a charge. A pH higher by 0.1 "
        f"retains it {with_unit(rounded(abs(change), 2), '%')} {sign} at most."
    )
    charged = f"{interval(percent(share), '%')} charged"
    return ChemistryFact(f"ionisation-{marker.id}", name, text, SOURCE, _bearing(change, moved), charged)


ION_BEARING = (
    "Its retention is that of its ion, which a drift of pH leaves alone, so a change of it speaks of the "
    "column, the temperature or the organic part."
)


def _as_ion(marker: Marker, role: IonisableRole, pka: Estimate, setting: Setting) -> str:
    """Return how a base or acid stands that is all but an ion: no figures that only repeat it."""
    kind = "a base" if role == "base" else "an acid"
    least = with_unit(stated(100 * (1 - AN_ION)), "%")
    ph = ph_interval(setting.medium.ph) if setting.medium is not None else ""
    return (
        f"{marker.id[:1].upper()}{marker.id[1:]}, {kind} of pKa {stated(marker.pka or 0.0)} at 25 °C, has a "
        f"pKa of about {interval(pka)} at the temperature of the injections. At pH {ph} more than {least} of "
        "it bears a charge."
    )


def _bearing(change: float, moved: str) -> str:
    """Return what that says of a retention that moves; first what the log of this study says of it."""
    if moved:
        further = "what moved further speaks of the column, the temperature or the organic part"
        return sentence(f"{moved}; {further}")
    if abs(change) >= SENSITIVE_PERCENT:
        return (
            "Before its retention is read as the column’s, the pH must be known to have stayed: a drift of "
            f"0.1 alone could move it by {with_unit(fixed(abs(change), 0), '%')}."
        )
    return (
        "Its retention hardly feels small drifts of pH, so a change of it speaks of the column, the "
        "temperature or the organic part."
    )


def _open(marker: Marker, name: str, reason: str) -> ChemistryFact:
    """Return the fact that nothing can be said, and why."""
    return ChemistryFact(
        f"ionisation-{marker.id}",
        name,
        f"How far {marker.id} is ionised cannot be computed, because {reason}.",
        SOURCE,
        "Whether a drifting pH could have moved this marker is left open.",
    )


def percent(share: Estimate) -> Estimate:
    """Return a share as per cent."""
    value, low, high = (
        None if part is None else 100.0 * part for part in (share.value, share.low, share.high)
    )
    return Estimate(value, low, high, share.reason)
