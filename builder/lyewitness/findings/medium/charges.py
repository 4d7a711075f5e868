"""How far bases and acids among the markers bear a charge, and how far their retention can follow the pH.

In: a study and a pH as read on the bench. Out: shares and per cent.
"""

from typing import Literal

from lyewitness.chemistry.ionisation import ionised_share, pka_at
from lyewitness.findings.medium.settings import injection_setting
from lyewitness.study.records import Marker, Study


def retention_swing_percent(study: Study, marker: Marker, low_ph: float, high_ph: float) -> float | None:
    """Return by how many % a base or acid is retained less at one end of a range of pH than at the other.

    Its ion is taken as not retained (Horváth, Melander and Molnár 1977), which is the most that can happen.
    None without a pKa.
    """
    if marker.role not in ("base", "acid") or marker.pka is None:
        return None
    ends = [1 - _charged(study, marker, ph) for ph in (low_ph, high_ph)]
    return 100 * (1 - min(ends) / max(ends)) if max(ends) > 0 else None


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
