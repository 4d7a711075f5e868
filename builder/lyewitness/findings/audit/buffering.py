"""Audit of the buffer: does it buffer at the pH of the stress, at the bench and when hot?

In: `Evidence`. Out: `Point`s.
"""

from collections.abc import Iterator
from functools import lru_cache

from lyewitness.chemistry.medium import stress_medium
from lyewitness.chemistry.records import NotComputableError, StressMedium
from lyewitness.findings.audit.points import Asked, Point
from lyewitness.findings.evidence import Evidence
from lyewitness.findings.medium.settings import ph_stated
from lyewitness.study.records import Conditions
from lyewitness.words.numbers import fixed, rounded, stated, with_unit
from lyewitness.words.phrases import listed

RANGE = Asked(
    "buffer-range",
    "Does the buffer hold its pH?",
    "A pH that drifts in the bottle or on the column changes the stress, on all columns alike at best.",
    "Take a buffer with a pK within one unit of the pH, or check the pH of what leaves the column.",
)


def buffer_range(evidence: Evidence) -> Iterator[Point]:
    """Ask whether a pK of the buffer lies within one unit of its pH, at the bench and when hot."""
    stress = evidence.study.stress
    if not stress.buffer.strip():
        return
    found = _medium(stress)
    if isinstance(found, str):
        yield RANGE.says(
            "not possible",
            f"it cannot be computed, because {found}",
            cure="State buffer, pH and temperature.",
        )
        return
    if found.nearest_pk is None:
        yield RANGE.good(f"{found.buffer.name} is its own alkali and has no pK near its pH")
        return
    bench, hot = (with_unit(stated(at.temperature_C), "°C") for at in (found.bench, found.hot))
    away = fixed(abs(found.nearest_pk - found.hot.ph), 1)
    near = f"at {hot} its nearest pK lies {away} from the pH"
    where = [
        place
        for note, place in (("out of range at the bench", bench), ("out of range when hot", hot))
        if note in found.notes
    ]
    if not where:
        yield RANGE.good(near)
        return
    capacity = with_unit(rounded(found.capacity_mM, 2), "mmol/kg")
    name = found.buffer.name[:1].upper() + found.buffer.name[1:]
    at_bench = ph_stated(stress.ph) if stress.ph is not None else fixed(found.bench.ph, 1)
    yield RANGE.says(
        "caution",
        f"{name} hardly buffers at pH {at_bench} ({listed(dict.fromkeys(where))}): {near}, "
        f"and {capacity} of acid or alkali move it by one unit",
    )


@lru_cache(maxsize=32)
def _medium(stress: Conditions) -> StressMedium | str:
    """Return the medium, or the reason for none; kept, since each question asks for it again."""
    try:
        return stress_medium(
            stress.buffer, stress.buffer_mM, stress.ph, stress.ph_temperature_C, stress.temperature_C
        )
    except NotComputableError as missing:
        return str(missing)
