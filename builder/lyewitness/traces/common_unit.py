"""One signal unit for all traces of a study, so that they can be laid over each other and compared.

In: the traces as their files have them. Out: the same traces, absorbance in milli-absorbance units where the
files state different units; a caution where units cannot be reconciled.
"""

from collections.abc import Mapping
from dataclasses import replace

from lyewitness.traces.records import Trace
from lyewitness.words.problems import Problem

COMMON = "mAU"
IN_COMMON: Mapping[str, float] = {
    "mau": 1.0,
    "milliabsorbance": 1.0,
    "milliabsorbanceunits": 1.0,
    "au": 1000.0,
    "absorbance": 1000.0,
    "absorbanceunit": 1000.0,
    "absorbanceunits": 1000.0,
    "uau": 0.001,
    "µau": 0.001,
    "microabsorbanceunits": 0.001,
}
"""How many mAU one of a unit is, by its name in small letters without blanks (common practice)."""


def in_one_unit(traces: Mapping[str, Trace]) -> tuple[Mapping[str, Trace], tuple[Problem, ...]]:
    """Return the traces in one signal unit; traces that already agree are left as they are."""
    units = {trace.signal_unit for trace in traces.values()}
    if len(units) < 2:
        return traces, ()
    alike = {name: _converted(trace) for name, trace in traces.items()}
    left = sorted({trace.signal_unit or "no unit" for trace in alike.values()})
    return alike, () if len(left) < 2 else (_irreconcilable(left),)


def _converted(trace: Trace) -> Trace:
    """Return `trace` in the common unit where its own is known, else as it is."""
    factor = IN_COMMON.get(trace.signal_unit.lower().replace(" ", "").replace("μ", "µ"))
    if factor is None or trace.signal_unit == COMMON:
        return trace
    signal = trace.signal * factor
    signal.flags.writeable = False
    return replace(trace, signal=signal, signal_unit=COMMON)


def _irreconcilable(units: list[str]) -> Problem:
    """Return the caution that areas and heights of these files cannot be compared."""
    return Problem(
        "caution",
        "",
        "",
        f"chromatograms in different units: {', '.join(units)}",
        "one signal unit, or units of absorbance",
        "Their areas and heights cannot be compared; state a missing unit as signal_unit in [exports].",
    )
