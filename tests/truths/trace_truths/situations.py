"""Series of injections of one ageing column, each with one known trouble, and the truth of every marker."""

from __future__ import annotations

import math
import zlib
from collections.abc import Callable
from dataclasses import dataclass, field, replace

import numpy as np
from numpy.typing import NDArray

from trace_truths import backgrounds as bg
from trace_truths import noises as ns
from trace_truths.peaks import Form, Peak, PeakTruth, beside, of_plates, resolution

Array = NDArray[np.float64]

DEAD = 0.6
"""Hold-up time of the short column, minutes."""

END = 7.0
"""Length of a run of the short column, minutes."""


@dataclass(frozen=True)
class Marker:
    """A marker of the study: its role, and where it elutes on a fresh column."""

    name: str
    role: str
    expected_min: float


@dataclass
class MarkerTruth:
    """What there is to be found of one marker in one injection.

    ``status``: ``present``; ``trace`` (present, but so little that missing it is no fault); ``merged`` (no
    method can tell it from its neighbour); ``cut`` (its apex is recorded, its tail is not); ``absent`` (was
    not injected); ``not recorded`` (the run ended before its apex); ``swapped`` (another sample).
    Only ``present``, ``trace``, ``merged`` and ``cut`` bear a truth.
    """

    status: str
    reason: str = ""
    truth: PeakTruth | None = None
    retention_factor: float | None = None
    resolution: float | None = None
    emg: dict[str, float] | None = None


@dataclass
class TrueInjection:
    """One recorded trace and what is true of it.  ``strangers`` maps other peaks to their apex times."""

    name: str
    exposure_h: float
    time_min: Array
    signal_mau: Array
    markers: dict[str, MarkerTruth]
    strangers: dict[str, float] = field(default_factory=dict)


@dataclass
class TrueSeries:
    """Successive injections of one column."""

    situation: str
    family: str
    seed: int
    column: str
    markers: tuple[Marker, ...]
    injections: list[TrueInjection]


@dataclass
class Scene:
    """One injection before it is recorded: what elutes, and what the instrument does to it."""

    index: int
    count: int
    rng: np.random.Generator
    instrument: np.random.Generator
    peaks: dict[str, Peak]
    others: list[Peak] = field(default_factory=list)
    gone: dict[str, tuple[str, str]] = field(default_factory=dict)
    status: dict[str, tuple[str, str]] = field(default_factory=dict)
    end: float = END
    rate_hz: float = 10.0
    noise: float = 0.05
    noise_kind: str = "white"
    background: list[Callable[[Array], Array]] = field(default_factory=list)
    optical: list[Callable[[Array, Array], Array]] = field(default_factory=list)
    digital: list[Callable[[Array, Array], Array]] = field(default_factory=list)
    gaps: bool = False
    uneven: bool = False

    @property
    def age(self) -> float:
        """Share of the exposure passed, 0 to 1."""
        return self.index / max(self.count - 1, 1)


THREE = (
    Marker("uracil", "void", 0.60),
    Marker("acenaphthene", "neutral", 2.40),
    Marker("nortriptyline", "base", 4.20),
)
FOUR = (
    Marker("uracil", "void", 0.60),
    Marker("acenaphthene", "neutral", 2.40),
    Marker("nortriptyline", "base", 2.90),
    Marker("butylbenzene", "neutral", 4.60),
)

LONG_PLACES = (2.0, 6.0, 11.0, 17.5, 25.0, 35.0, 47.0, 62.0)
LONG_BASES_S = (16.0, 35.0, 62.0, 95.0, 135.0, 185.0, 250.0, 330.0)
LONG_HEIGHTS = (180.0, 60.0, 25.0, 120.0, 14.0, 45.0, 18.0, 30.0)
LONG_NAMES = (
    "thiourea",
    "phenol",
    "aniline",
    "benzene",
    "amitriptyline",
    "toluene",
    "doxepin",
    "naphthalene",
)
LONG = tuple(
    Marker(
        n, "void" if i == 0 else ("base" if n in ("aniline", "amitriptyline", "doxepin") else "neutral"), t
    )
    for i, (n, t) in enumerate(zip(LONG_NAMES, LONG_PLACES, strict=True))
)


def _fresh(index: int, count: int, rng: np.random.Generator, instrument: np.random.Generator) -> Scene:
    """An ordinary injection of the short column at this age; ``instrument`` draws alike over a series."""
    a = index / max(count - 1, 1)
    flow = 1 + 0.001 * rng.normal()
    dose = 1 + 0.004 * rng.normal()
    void = of_plates("uracil", Form("emg", 0.7), DEAD * flow, 3000 - 800 * a, 120.0 * dose)
    k_neutral, k_base = 3.0 * (1 - 0.28 * a), 6.0 * (1 - 0.12 * a)
    neutral = of_plates(
        "acenaphthene", Form("emg", 0.4 + 0.3 * a), DEAD * (1 + k_neutral) * flow, 9000 - 3500 * a, 1.0
    )
    base = of_plates(
        "nortriptyline", Form("emg", 0.7 + 1.1 * a), DEAD * (1 + k_base) * flow, 6500 - 3500 * a, 1.0
    )
    return Scene(
        index,
        count,
        rng,
        instrument,
        {
            "uracil": void,
            "acenaphthene": replace(neutral, area=9.0 * dose),
            "nortriptyline": replace(base, area=8.0 * dose),
        },
    )


def _reshape(scene: Scene, form: Callable[[float], Form], names: tuple[str, ...]) -> None:
    """Give some markers another shape, of the same half width and area."""
    for name in names:
        scene.peaks[name] = replace(scene.peaks[name], form=form(scene.age))


Change = Callable[[Scene], None]
SITUATIONS: dict[str, tuple[str, Change]] = {}


def _situation(name: str, family: str) -> Callable[[Change], Change]:
    """Enter a situation under its name and its family (the study folder it goes into)."""

    def enter(change: Change) -> Change:
        SITUATIONS[name] = (family, change)
        return change

    return enter


RETAINED = ("acenaphthene", "nortriptyline")


@_situation("clean", "shapes")
def _clean(scene: Scene) -> None:
    scene.noise = 0.02


@_situation("two_tails", "shapes")
def _two_tails(scene: Scene) -> None:
    _reshape(scene, lambda a: Form("two_tails", 0.5, 3.0, 0.05 + 0.15 * a), RETAINED)


@_situation("two_sites", "shapes")
def _two_sites(scene: Scene) -> None:
    _reshape(scene, lambda a: Form("two_sites", 0.4, 2.0 + 1.5 * a, 0.15 + 0.4 * a), RETAINED)


@_situation("fronting", "shapes")
def _fronting(scene: Scene) -> None:
    _reshape(scene, lambda a: Form("hvl", -0.5 - 4.5 * a), RETAINED)


@_situation("overload", "shapes")
def _overload(scene: Scene) -> None:
    # the more of the surface is lost, the sooner the rest is full: the front steepens and comes earlier
    for name in RETAINED:
        p = scene.peaks[name]
        load = 0.5 + 9.0 * scene.age
        width = p.width_half_min * (1 + 0.13 * load)
        form = Form("hvl", load)
        scene.peaks[name] = replace(
            p, form=form, width_half_min=width, apex_min=p.apex_min * (1 - 0.006 * load)
        )


def _backgrounds() -> None:
    """Enter the situations that differ by their background alone."""

    def late(scene: Scene, part: float) -> float:
        return scene.peaks["nortriptyline"].apex_min + part * scene.peaks["nortriptyline"].width_half_min

    def dip(size: float, derivative: bool, before: float) -> Change:
        def change(scene: Scene) -> None:
            void = scene.peaks["uracil"]
            at, w = void.apex_min - before * void.width_half_min, void.width_half_min * 0.8
            scene.background.append(lambda t: bg.refraction(t, size, at, w, derivative))

        return change

    def hump(size: float) -> Change:
        def change(scene: Scene) -> None:
            centre = 3.7 + 0.1 * scene.rng.normal()
            scene.background.append(lambda t: bg.gradient_hump(t, size, centre, 0.55))

        return change

    def simple(make: Callable[[Array, np.random.Generator, Scene], Array]) -> Change:
        def change(scene: Scene) -> None:
            scene.background.append(lambda t: make(t, scene.rng, scene))

        return change

    table: dict[str, Change] = {
        "lamp_walk": simple(lambda t, r, s: bg.lamp_drift(t, r, 3.0, 2.0)),
        "lamp_flicker": simple(lambda t, r, s: bg.lamp_drift(t, r, 0.3, 1.0)),
        "pump_ripple": simple(lambda t, r, s: bg.pump_ripple(t, r, 0.6, 14.0)),
        "pump_ripple_big": simple(lambda t, r, s: bg.pump_ripple(t, r, 3.0, 10.0)),
        "mixing_ripple": simple(lambda t, r, s: bg.mixing_ripple(t, r, 2.0, 0.45)),
        "thermal": simple(lambda t, r, s: bg.thermal_wander(t, r, 4.0, 3.0)),
        "hump25": hump(25.0),
        "hump50": hump(50.0),
        "hump100": hump(100.0),
        "wave8": simple(lambda t, r, s: bg.wave(t, r, 8.0, 2.2)),
        "dip35_before": dip(-35.0, False, 2.2),
        "dip90_before": dip(-90.0, False, 2.2),
        "dip35_under": dip(-35.0, False, 0.7),
        "dip90_under": dip(-90.0, False, 0.7),
        "lens35": dip(-35.0, True, 1.5),
        "lens90": dip(-90.0, True, 1.5),
        "step_lamp": simple(lambda t, r, s: bg.step(t, 6.0, late(s, float(r.uniform(-4, 4))))),
        "step_valve": simple(lambda t, r, s: bg.step(t, 5.0, late(s, float(r.uniform(2.5, 6))), 0.02)),
        "wash": simple(lambda t, r, s: bg.wash_rise(t, 400.0, late(s, 6.0))),
        "negative": simple(lambda t, r, s: np.full(t.size, -250.0) + bg.lamp_drift(t, r, 0.5)),
    }
    for name, change in table.items():
        SITUATIONS[name] = ("backgrounds", change)


_backgrounds()


def _noises() -> None:
    """Enter the situations that differ by their noise, converter or sampling alone."""

    def noise(kind: str, size: float) -> Change:
        def change(scene: Scene) -> None:
            scene.noise_kind, scene.noise = kind, size

        return change

    def round_to(unit: float, size: float) -> Change:
        def change(scene: Scene) -> None:
            scene.noise = size
            scene.digital.append(lambda t, y: ns.counts(y, unit))

        return change

    def spiky(scene: Scene) -> None:
        scene.digital.append(lambda t, y: ns.spikes(y, scene.rng, 6))

    def bubble(low: float, high: float, size: float) -> Change:
        def change(scene: Scene) -> None:
            p = scene.peaks["acenaphthene"]
            at = p.apex_min + float(scene.rng.uniform(low, high)) * p.width_half_min
            if scene.index % 2:
                scene.optical.append(lambda t, y: ns.bubble(t, y, at, size, 0.05))

        return change

    def clip(cut: float, rounding: float) -> Change:
        def change(scene: Scene) -> None:
            for name in RETAINED:
                scene.peaks[name] = replace(scene.peaks[name], area=scene.peaks[name].area * 12)
            tallest = max(p.truth().peak_height for p in scene.peaks.values())
            end = (1 - cut) * tallest
            scene.digital.append(lambda t, y: ns.clipped(y, end, rounding * end))

        return change

    def gaps(scene: Scene) -> None:
        scene.gaps = True

    def uneven(scene: Scene) -> None:
        scene.uneven = True

    def sparse(points: float) -> Change:
        def change(scene: Scene) -> None:
            base_s = 1.699 * scene.peaks["uracil"].width_half_min * 60
            scene.rate_hz = points / base_s if scene.index == 0 else points / (1.699 * 0.6 * 0.04297 * 60)

        return change

    table: dict[str, Change] = {
        "white": noise("white", 0.3),
        "white_strong": noise("white", 1.0),
        "flicker": noise("flicker", 0.5),
        "shot": noise("shot", 0.1),
        "counts1": round_to(1.0, 0.1),
        "counts0p1": round_to(0.1, 0.02),
        "counts0p01": round_to(0.01, 0.002),
        "spikes": spiky,
        "bubble_on": bubble(-1.0, 1.5, 25.0),
        "bubble_beside": bubble(3.0, 6.0, 60.0),
        "clip5": clip(0.05, 0.0),
        "clip15": clip(0.15, 0.0),
        "clip30": clip(0.30, 0.0),
        "clip5_round": clip(0.05, 0.02),
        "clip15_round": clip(0.15, 0.02),
        "clip30_round": clip(0.30, 0.02),
        "missing": gaps,
        "uneven": uneven,
        "sparse8": sparse(8.0),
        "sparse5": sparse(5.0),
    }
    for name, change in table.items():
        SITUATIONS[name] = ("noises", change)


_noises()


def _weak(ratio: float) -> Change:
    """One marker at the given signal-to-noise ratio, 2 H/h with h six standard deviations of the noise."""

    def change(scene: Scene) -> None:
        scene.noise = 0.3
        p = scene.peaks["nortriptyline"]
        height = ratio * 3.0 * scene.noise
        scene.peaks["nortriptyline"] = replace(p, area=p.area * height / p.truth().peak_height)

    return change


for _ratio in (20, 10, 5):
    SITUATIONS[f"sn{_ratio}"] = ("noises", _weak(float(_ratio)))


def _with_partner(scene: Scene, apart: float) -> None:
    """Four markers: the base at the given resolution from the neutral, and a late neutral."""
    a = scene.age
    neutral = scene.peaks["acenaphthene"]
    base = beside(neutral, "nortriptyline", Form("emg", 0.6 + 0.7 * a), 7000 - 2500 * a, 60.0, apart)
    late = DEAD * (1 + 6.67 * (1 - 0.25 * a)) * neutral.apex_min / (DEAD * (1 + 3.0 * (1 - 0.28 * a)))
    scene.peaks["nortriptyline"] = replace(base, area=5.5)
    scene.peaks["butylbenzene"] = of_plates("butylbenzene", Form("emg", 0.4), late, 9500 - 3000 * a, 50.0)


def _glide(a: float, start: float, target: float, until: float = 0.6) -> float:
    """Go from start to target, arriving at the given share of the exposure."""
    return start + (target - start) * min(1.0, a / until)


def _meeting(target: float) -> Change:
    def change(scene: Scene) -> None:
        _with_partner(scene, _glide(scene.age, 4.0, target))

    return change


for _target in (1.5, 1.2, 1.0, 0.8, 0.6):
    SITUATIONS[f"meet{_target:.1f}".replace(".", "p")] = ("pairs", _meeting(_target))


@_situation("swap", "pairs")
def _swap(scene: Scene) -> None:
    """The base passes the neutral: it ends as far before it as it began behind it."""
    _with_partner(scene, 4.0 - 7.0 * scene.age)


@_situation("swap_vanish", "pairs")
def _swap_vanish(scene: Scene) -> None:
    """The base passes the neutral while it decays, and is not there at all in the last quarter."""
    _with_partner(scene, 4.0 - 7.0 * scene.age)
    left = max(0.0, 1.0 - scene.age / 0.78)
    p = scene.peaks["nortriptyline"]
    if left <= 0:
        del scene.peaks["nortriptyline"]
        scene.gone["nortriptyline"] = ("absent", "has decayed")
    else:
        scene.peaks["nortriptyline"] = replace(p, area=p.area * left)


def _product(apart: float) -> Change:
    def change(scene: Scene) -> None:
        _with_partner(scene, 6.0)
        if scene.age > 0.2:
            anchor = scene.peaks["nortriptyline"]
            tall = anchor.truth().peak_height * 0.7 * (scene.age - 0.2) / 0.8
            scene.others.append(beside(anchor, "product", Form("emg", 0.6), 6000.0, tall, apart))

    return change


SITUATIONS["product0p8"] = ("pairs", _product(0.8))
SITUATIONS["product0p6"] = ("pairs", _product(0.6))
SITUATIONS["product_front0p8"] = ("pairs", _product(-0.8))


def _cut_at(part: float) -> Change:
    """From the middle of the series on, runs end at the last peak's apex plus a part of its half width."""

    def change(scene: Scene) -> None:
        p = scene.peaks["nortriptyline"]
        if scene.age >= 0.5:
            scene.end = p.apex_min + part * p.width_half_min
            if part > 0:
                scene.status["nortriptyline"] = ("cut", "the run ends on its tail")
            else:
                scene.gone["nortriptyline"] = ("not recorded", "the run ends before its apex")

    return change


SITUATIONS["end_before"] = ("faults", _cut_at(-3.0))
SITUATIONS["end_on_front"] = ("faults", _cut_at(-0.35))
SITUATIONS["end_halfway"] = ("faults", _cut_at(0.3))


@_situation("drifts_out", "faults")
def _drifts_out(scene: Scene) -> None:
    """The base is held ever longer, until it no longer elutes within the run."""
    p = scene.peaks["nortriptyline"]
    scene.end = 5.0
    apex = 4.2 * (1 + 0.30 * scene.age)
    scene.peaks["nortriptyline"] = replace(
        p, apex_min=apex, width_half_min=p.width_half_min * apex / p.apex_min
    )
    room = (scene.end - apex) / scene.peaks["nortriptyline"].width_half_min
    if room < 0:
        scene.gone["nortriptyline"] = ("not recorded", "elutes after the end of the run")
    elif room < 2.5:
        scene.status["nortriptyline"] = ("cut", "the run ends on its tail")


def _middle(scene: Scene) -> bool:
    """Whether this is the injection, past the middle of the series, that something befell."""
    return scene.index == (2 * scene.count) // 3


@_situation("blank", "faults")
def _blank(scene: Scene) -> None:
    """One injection was missed: nothing elutes but the loop's pressure wave at the hold-up time."""
    if _middle(scene):
        for name in scene.peaks:
            scene.gone[name] = ("absent", "missed injection")
        scene.background.append(lambda t: bg.refraction(t, 1.5, DEAD, 0.03, True))


@_situation("wrong_vial", "faults")
def _wrong_vial(scene: Scene) -> None:
    """One injection came from another vial, with peaks near, but not at, the markers' places."""
    if _middle(scene):
        changed = {"uracil": (1.45, 0.5), "acenaphthene": (0.80, 2.2), "nortriptyline": (1.16, 0.35)}
        for name, (factor, dose) in changed.items():
            p = scene.peaks[name]
            scene.gone[name] = ("swapped", "another vial")
            at, width = p.apex_min * factor, p.width_half_min * factor
            other = replace(p, name=f"other {name}", apex_min=at, width_half_min=width, area=p.area * dose)
            scene.others.append(other)
        scene.others.append(of_plates("other fourth", Form("emg", 0.5), 2.75, 8000.0, 45.0))


@_situation("leak", "faults")
def _leak(scene: Scene) -> None:
    """Two injections under a leak before the column: all later by one factor, areas lower."""
    at = (2 * scene.count) // 3
    if scene.index in (at, at + 1):
        for name, p in scene.peaks.items():
            scene.peaks[name] = replace(
                p,
                apex_min=p.apex_min * 1.22,
                width_half_min=p.width_half_min * 1.22,
                area=p.area * 0.6 * 1.22,
            )


@_situation("carry_over", "faults")
def _carry_over(scene: Scene) -> None:
    """One blank that holds 2 % of the sample before it."""
    if _middle(scene):
        for name, p in scene.peaks.items():
            scene.peaks[name] = replace(p, area=0.02 * p.area)
            scene.status[name] = ("trace", "carried over from the injection before")


@_situation("late_ghost", "faults")
def _late_ghost(scene: Scene) -> None:
    """Something of the injection before elutes, very broad, in this one; its place changes with the cycle."""
    apex = 1.6 + 3.6 * scene.age
    scene.others.append(of_plates("ghost", Form("emg", 0.5), apex, 250.0, 25.0))


@_situation("split", "faults")
def _split(scene: Scene) -> None:
    """A void at the inlet: each peak becomes two, the second growing; the truth is that of the first."""
    if scene.age > 0.3:
        for name in RETAINED:
            p = scene.peaks[name]
            share = 0.45 * (scene.age - 0.3) / 0.7
            scene.peaks[name] = replace(p, area=p.area * (1 - share))
            at = p.apex_min + 1.15 * p.width_half_min
            scene.others.append(replace(p, name=f"{name} twin", area=p.area * share, apex_min=at))


@_situation("no_void", "faults")
def _no_void(scene: Scene) -> None:
    """The hold-up marker was left out of one sample; the solvent still shows at the hold-up time."""
    if _middle(scene):
        scene.gone["uracil"] = ("absent", "not in the sample")
        scene.background.append(lambda t: bg.refraction(t, -12.0, DEAD - 0.01, 0.02, True))


@_situation("partial_injection", "faults")
def _partial(scene: Scene) -> None:
    """Air in the loop: one injection holds a fifth of the sample."""
    if _middle(scene):
        for name, p in scene.peaks.items():
            scene.peaks[name] = replace(p, area=0.2 * p.area)


@_situation("other_vial_with_void", "faults")
def _other_vial(scene: Scene) -> None:
    """One injection came from a vial that shares the hold-up marker, but holds other analytes."""
    if _middle(scene):
        for name, factor, dose in (("acenaphthene", 1.12, 0.5), ("nortriptyline", 0.9, 1.8)):
            p = scene.peaks[name]
            scene.gone[name] = ("swapped", "another vial")
            at, width = p.apex_min * factor, p.width_half_min * factor
            other = replace(p, name=f"other {name}", apex_min=at, width_half_min=width, area=p.area * dose)
            scene.others.append(other)


def _sites(a: float) -> Form:
    """Tailing by a rare slow site that grows with age."""
    return Form("two_sites", 0.4, 2.0 + 1.5 * a, 0.15 + 0.4 * a)


def _lab(scene: Scene, strength: float = 1.0) -> None:
    """An instrument as it is met: all small troubles at once, alike over a series in kind and size."""
    draw, rng = scene.instrument, scene.rng

    def size(low: float, high: float) -> float:
        return strength * math.exp(draw.uniform(math.log(low), math.log(high)))

    walk, ripple, heat, mix = size(0.1, 2.0), size(0.02, 0.4), size(0.1, 2.0), size(0.02, 0.4)
    strokes, offset, dip = draw.uniform(4, 20), draw.uniform(-60, 30), draw.uniform(-20, 5) * strength
    wide, slope = draw.uniform(0.6, 1.4), draw.uniform(-2, 4) * strength
    scene.noise, light = size(0.02, 0.15), size(0.005, 0.05)
    scene.rate_hz = float(draw.choice([5.0, 10.0, 10.0, 20.0]))
    unit = float(draw.choice([0.001, 0.01, 0.05]))
    void = scene.peaks["uracil"]
    at, width = void.apex_min - 1.8 * void.width_half_min, wide * 0.6 * void.width_half_min
    scene.background += [
        lambda t: offset + slope * t + bg.lamp_drift(t, rng, walk),
        lambda t: bg.pump_ripple(t, rng, ripple, strokes),
        lambda t: bg.thermal_wander(t, rng, heat, 4.0),
        lambda t: bg.mixing_ripple(t, rng, mix, 0.4),
        lambda t: bg.refraction(t, dip, at, width, True),
    ]
    scene.optical.append(lambda t, y: ns.shot(y, rng, light))
    if rng.uniform() < 0.25 * strength:
        scene.digital.append(lambda t, y: ns.spikes(y, rng, 1))
    scene.digital.append(lambda t, y: ns.counts(y, unit))


def _everyday(kind: str, strength: float) -> Change:
    """An ordinary laboratory's instrument and one kind of peak."""

    def change(scene: Scene) -> None:
        forms: dict[str, Callable[[float], Form]] = {
            "two_tails": lambda a: Form("two_tails", 0.5, 3.0, 0.05 + 0.15 * a),
            "two_sites": _sites,
            "fronting": lambda a: Form("hvl", -0.5 - 2.0 * a),
        }
        if kind in forms:
            _reshape(scene, forms[kind], RETAINED)
        _lab(scene, strength)

    return change


for _kind in ("emg", "two_tails", "two_sites", "fronting"):
    SITUATIONS[f"lab_{_kind}"] = ("everyday", _everyday(_kind, 1.0))
    SITUATIONS[f"poor_lab_{_kind}"] = ("everyday", _everyday(_kind, 3.0))


def _hard_meeting(target: float, form: Callable[[float], Form], lab: bool) -> Change:
    """A pair that meets, its peaks not exponentially modified Gaussians, or on a poor baseline, or both."""

    def change(scene: Scene) -> None:
        _with_partner(scene, _glide(scene.age, 4.0, target))
        _reshape(scene, form, ("acenaphthene", "nortriptyline"))
        if lab:
            _lab(scene)

    return change


def _hard_product(apart: float, lab: bool) -> Change:
    """A product beside a base whose tail is made by two sites."""

    def change(scene: Scene) -> None:
        _product(apart)(scene)
        _reshape(scene, _sites, ("nortriptyline",))
        if lab:
            _lab(scene)

    return change


for _target in (1.2, 0.8):
    _text = f"{_target:.1f}".replace(".", "p")
    SITUATIONS[f"meet{_text}_sites"] = ("hardpairs", _hard_meeting(_target, _sites, False))
    SITUATIONS[f"meet{_text}_front"] = (
        "hardpairs",
        _hard_meeting(_target, lambda a: Form("hvl", -1 - 3 * a), False),
    )
    SITUATIONS[f"meet{_text}_sites_lab"] = ("hardpairs", _hard_meeting(_target, _sites, True))
SITUATIONS["product0p8_sites"] = ("hardpairs", _hard_product(0.8, False))
SITUATIONS["product0p6_sites"] = ("hardpairs", _hard_product(0.6, False))
SITUATIONS["product0p8_lab"] = ("hardpairs", _hard_product(0.8, True))


@_situation("long_run", "long")
def _long_run(scene: Scene) -> None:
    """Eight peaks, 16 s to 330 s wide at the base, over 75 minutes on a baseline that wanders."""
    a = scene.age
    scene.peaks.clear()
    scene.end, scene.rate_hz, scene.noise = 75.0, 2.0, 0.04
    flow = 1 + 0.001 * scene.rng.normal()
    for m, base_s, height in zip(LONG, LONG_BASES_S, LONG_HEIGHTS, strict=True):
        k = (m.expected_min / 2.0 - 1) * (1 - (0.10 if m.role == "base" else 0.15) * a)
        apex = 2.0 * (1 + k) * flow
        widen = 1 + (0.35 if m.role == "base" else 0.15) * a * (m.role != "void")
        width = base_s / 60 / 1.699 * widen * apex / m.expected_min
        tail = 0.9 + 0.8 * a if m.role == "base" else 0.5
        p = Peak(m.name, Form("emg", tail), apex, width, 1.0)
        scene.peaks[m.name] = replace(p, area=height / (1 + 0.2 * a) / p.truth().peak_height)
    scene.background.append(lambda t: bg.long_wander(t, scene.rng, 3.0))
    dip = float(scene.rng.uniform(-5, -2))
    scene.background.append(lambda t: bg.refraction(t, dip, 1.75, 0.05))


def _record(scene: Scene, name: str, exposure_h: float, markers: tuple[Marker, ...]) -> TrueInjection:
    """Let the detector and the converter see the scene, and state the truth beside."""
    rng = scene.rng
    n = math.floor(scene.end * 60 * scene.rate_hz) + 1
    t = np.arange(n, dtype=np.float64) / (60 * scene.rate_hz)
    if scene.uneven:
        t = ns.uneven(t, rng)
    y = np.zeros_like(t)
    unseen = {key for key, (status, _) in scene.gone.items() if status != "not recorded"}
    for key, p in scene.peaks.items():
        if key not in unseen:
            y += p.signal(t)
    for p in scene.others:
        y += p.signal(t)
    for make in scene.background:
        y = y + make(t)
    for optic in scene.optical:
        y = optic(t, y)
    noise = {"white": ns.white, "flicker": ns.flicker, "shot": ns.shot}[scene.noise_kind]
    y = noise(y, rng, scene.noise)
    for digital in scene.digital:
        y = digital(t, y)
    if scene.gaps:
        t, y = ns.missing(t, y, rng)
    truths: dict[str, MarkerTruth] = {}
    void = scene.peaks.get(markers[0].name) if markers[0].name not in scene.gone else None
    seen = [scene.peaks[m.name] for m in markers if m.name in scene.peaks and m.name not in scene.gone]
    everything = sorted(seen + scene.others, key=lambda p: p.apex_min)
    for m in markers:
        if m.name in scene.gone:
            truths[m.name] = MarkerTruth(*scene.gone[m.name])
            continue
        p = scene.peaks[m.name]
        status, reason = scene.status.get(m.name, ("present", ""))
        near = [abs(resolution(q, p)) for q in everything if q is not p]
        if status == "present" and near and min(near) < 0.45:
            status, reason = "merged", "elutes with a neighbour"
        before = [q for q in everything if q.apex_min < p.apex_min]
        factor = None if void is None or m.role == "void" else p.apex_min / void.apex_min - 1
        rs = resolution(before[-1], p) if before else None
        truths[m.name] = MarkerTruth(status, reason, p.truth(), factor, rs, p.emg_parameters())
    return TrueInjection(name, exposure_h, t, y, truths, {p.name: p.apex_min for p in scene.others})


def series(situation: str, seed: int, injections: int = 12) -> TrueSeries:
    """Return the successive injections of one column in a situation, with every marker's truth."""
    family, change = SITUATIONS[situation]
    markers = {"pairs": FOUR, "hardpairs": FOUR, "long": LONG}.get(family, THREE)
    column = situation.replace("_", "-")
    out = TrueSeries(situation, family, seed, column, markers, [])
    place = zlib.crc32(situation.encode())
    for i in range(injections):
        rng = np.random.default_rng([seed, place, i])
        scene = _fresh(i, injections, rng, np.random.default_rng([seed, place, 1_000_000]))
        change(scene)
        out.injections.append(_record(scene, f"{column}-{i + 1:02d}", 12.0 * i, markers))
    first = out.injections[0]
    fresh: list[Marker] = []
    for m in markers:
        there = first.markers[m.name].truth
        fresh.append(replace(m, expected_min=round(there.retention_time_min, 2)) if there else m)
    out.markers = tuple(fresh)
    return out
