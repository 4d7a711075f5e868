"""How far the baseline of a trace can be trusted under one peak.

In: a survey and a peak's components. Out: a `Doubt`: by how much the baseline may be wrong there, and how
much noise there is at the scale of the peak.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from math import exp, log2, pi, sqrt

import numpy as np
from numpy.lib.stride_tricks import sliding_window_view
from numpy.typing import NDArray

from lyewitness.peaks.survey.surveys import Component, Survey
from lyewitness.peaks.survey.tops import binned, step_of_some
from lyewitness.words.arrays import FloatArray

LEAST_SAMPLES = 8
"""Fewer free samples than this beside a peak say nothing of the baseline there."""
# The standard deviation of six values is known to a third.
LEAST_BINS = 6
PER_WIDTH = 4.0
"""Noise is looked at in bins of this share of a width at half height: that is what moves apex and widths."""
MOST_COLOUR = 30.0
"""Largest factor by which noise at the scale of the peak may exceed white noise of its samples."""
COLOURED = 4.0
"""Noise is coloured above this ratio of that in means as wide as a peak to that from sample to sample: drift,
which the trace's baseline follows rightly, reaches 3."""
GAPLESS = 1.5
"""A window that takes longer than so many of its own lengths has a peak in it."""
PLACES_IN_A_WINDOW = 4
"""A fit is tried at steps of a quarter of its window: closer ones tell nearly the same."""
LEAST_PLACES, MOST_PLACES = 6, 32
"""Fewer are chance, and more lie far from the peak."""
ROOM_IN_WINDOWS = 2.25
"""Free samples that hold the least places, in windows."""
LEAST_WINDOW = 24
"""Points that still show a peak."""
COARSE = 0.6
"""Below this noise, in steps of rounding, flat stretches do not show what rounding does to a slope: midway
between two steps even the least noise looks like half a step."""
SHOWN_BY_A_LEVEL = 1.0 / 24.0
"""Variance of rounding, in squares of its step, that the noise of a flat stretch holds: between none of it
and all (1/12), as its level lies to the steps."""
TWO_STEPS_APART = 0.001
"""Share of neighbours so far apart from which on noise can be told from rounding: with noise of a third of a
step 0.2 … 1 %, of a fifth of it none."""
HIDDEN_NOISE = 0.2
"""Noise, in steps, that is taken where it cannot: with it rounding does what it does on average over all."""
SEEN_FIRST, FEW_VALUES = 128, 24
"""Of so many samples fewer different values are coarsely rounded: noise of half a step makes six or seven."""


@dataclass(frozen=True, slots=True)
class Doubt:
    """How uncertain the background of one peak is."""

    spread: float
    """Standard deviation of the trace's baseline under the peak, signal unit."""
    beyond_noise: float
    """What of that noise does not explain."""
    noise_sd: float
    """Of a sample: what white noise would need to scatter means over a quarter of a width as they do."""


class Background:
    """What the free parts of one trace tell of its baseline and noise; made once for all of its peaks."""

    def __init__(self, survey: Survey) -> None:
        """Look at the trace of `survey`."""
        time, smooth = survey.trace.time_min, survey.smooth
        self._survey = survey
        self._step = float(time[-1] - time[0]) / max(len(time) - 1, 1)
        free = np.ones(len(smooth.time), dtype=np.bool_)
        for first, last in smooth.time.searchsorted(np.array(survey.stretches).reshape(-1, 2)).tolist():
            free[first:last] = False
        self._free = free
        self._free_time, self._free_signal = survey.free_time, survey.free_signal
        self._rest = self._free_signal - smooth.at(self._free_time)
        self._rounding = coarse_step(survey)
        self._offset_by_rounding = _offset_by(self._rounding, self._free_signal, survey.noise_sd)
        self._noise: dict[int, float] = {}
        self._thinned: dict[int, FloatArray] = {}

    def doubt(self, own: Sequence[Component], off: float | None = None) -> Doubt:
        """Return the doubt about the baseline under the peak made of `own`; `off` where that is known."""
        wide = max(c.width_min for c in own)
        start, end = self._stretch_around(own)
        height = max(c.height for c in own)
        noise = max(self.noise(wide), 1e-6 * height)
        if off is not None:
            return Doubt(max(off, 1e-6 * height), off, noise)
        room = max(2.0 * wide, 0.3 * (end - start))
        beside = [self._offset(start - room, start, noise), self._offset(end, end + room, noise)]
        known = [one for one in beside if one is not None]
        if not known:
            return Doubt(0.5 * height, 0.5 * height, noise)
        off = max(offset for offset, _ in known)
        # The smooth baseline rests on some six times as many samples as are looked at here.
        chance = 0.4 * sqrt(sum(error**2 for _, error in known)) / len(known)
        bend = self._bend(own)
        rough = self._roughness(end - start, noise)
        beyond = sqrt(off**2 + bend**2 + rough**2 + self._offset_by_rounding**2)
        return Doubt(sqrt(beyond**2 + chance**2), beyond, noise)

    def noise(self, width_min: float) -> float:
        """Return the noise of a sample as means over a quarter and half a width show it; at least its own.

        From second differences of such means where no peak stands: they do not see a drift.
        """
        size = 1 << max(0, round(log2(max(width_min / PER_WIDTH / self._step, 1.0))))
        for one in (size, 2 * size):
            if one not in self._noise:
                self._noise[one] = self._noise_of_means(one)
        # On a slope rounding errs evenly within half a step, whatever it does on flat stretches.
        return sqrt(max(self._noise[size], self._noise[2 * size]) ** 2 + self._rounding**2 / 12.0)

    def seen_by(self, response: FloatArray, size: int, at_min: float, noise_sd: float) -> FloatArray:
        """Return (p, p) mean squares and products of what a fit makes of places where no peak stands.

        `response` (p, n) is of points that are means of `size` samples; the places lie around `at_min`. Zero
        where too little of the trace is free. White or not, noise acts on a peak as it acts there; where it
        is coloured (`noise_sd`, of a sample, by means as wide as the peak), what the smooth baseline follows
        of it does so, too: under a peak there is nothing to follow.
        """
        if size not in self._thinned:
            self._thinned[size] = binned(self._rest, size)
        rest, growth = self._thinned[size], 1.0
        while len(rest) < ROOM_IN_WINDOWS * response.shape[1] and response.shape[1] >= 2 * LEAST_WINDOW:
            # Nearly full traces show it to a narrower peak only; a random walk grows with the time it has.
            half = response.shape[1] // 2
            response = response[:, : 2 * half].reshape(-1, half, 2).sum(axis=2)
            growth *= 2.0
        n = response.shape[1]
        stride = max(1, n // PLACES_IN_A_WINDOW)
        places = (len(rest) - n) // stride + 1
        if places < LEAST_PLACES:
            return np.zeros((len(response), len(response)))
        middle = int(self._free_time.searchsorted(at_min)) // size // stride
        first = max(0, min(middle - MOST_PLACES // 2 - n // stride // 2, places - MOST_PLACES))
        windows = sliding_window_view(rest[first * stride :], n)[: MOST_PLACES * stride : stride]
        if noise_sd > COLOURED * self._survey.noise_sd:
            windows = (
                windows
                + self._followed(n, size, slice(first * stride, None))[: MOST_PLACES * stride : stride]
            )
        moved = windows @ response.T
        return np.asarray(moved.T @ moved * (growth / len(moved)))

    def _followed(self, n: int, size: int, part: slice) -> FloatArray:
        """Return (w, n) what the smooth baseline does beside its chord in each window of n thinned points.

        Nothing in a window that a peak interrupts.
        """
        smooth, time = (
            sliding_window_view(binned(own, size)[part], n)
            for own in (self._free_signal - self._rest, self._free_time)
        )
        start, end = smooth[:, :1], smooth[:, -1:]
        beside = smooth - start - (end - start) * np.linspace(0.0, 1.0, n)
        is_whole = time[:, -1:] - time[:, :1] < GAPLESS * n * size * self._step
        return np.asarray(beside * is_whole)

    def _noise_of_means(self, size: int) -> float:
        """Return the noise of a sample by means over `size` of them."""
        sd, signal = self._survey.noise_sd, self._free_signal
        if len(signal) < 3 * LEAST_BINS * size or size == 1:
            return sd
        means, places = binned(signal, size), binned(self._free_time, size)
        together = places[2:] - places[:-2] < 3.0 * size * self._step
        bend = np.abs(means[2:] - 2.0 * means[1:-1] + means[:-2])[together]
        if len(bend) < LEAST_BINS:
            return sd
        bend.partition(len(bend) // 2)
        middle = float(bend[len(bend) // 2]) / 0.6745 / sqrt(6.0)
        return min(max(sd, middle * sqrt(size)), MOST_COLOUR * sd + 1e-300)

    def _stretch_around(self, own: Sequence[Component]) -> tuple[float, float]:
        """Return the stretch of the trace's baseline that is straight under the peak."""
        apex = own[0].apex_min
        for start, end in self._survey.stretches:
            if start <= apex <= end:
                return start, end
        return min(c.start_min for c in own), max(c.end_min for c in own)

    def _offset(self, start: float, end: float, noise: float) -> tuple[float, float] | None:
        """Return how far the free signal lies off the baseline beyond chance, and the chance.

        None where there are few samples.
        """
        first, last = self._free_time.searchsorted([start, end]).tolist()
        if last - first < LEAST_SAMPLES:
            return None
        chance = noise / sqrt(last - first)
        return max(abs(float(self._rest[first:last].mean())) - 2.0 * chance, 0.0), chance

    def _bend(self, own: Sequence[Component]) -> float:
        """Return how far the straight piece under the peak lies from the smooth curve that it replaces."""
        places = np.linspace(min(c.start_min for c in own), max(c.end_min for c in own), 15)
        return float(np.abs(self._survey.baseline.at(places) - self._survey.smooth.at(places)).max())

    def _roughness(self, length: float, noise: float) -> float:
        """Return by how much a straight line over `length` misses the middle, where no peak stands."""
        time, value = self._survey.smooth.time, self._survey.smooth.value
        if len(time) < LEAST_BINS:
            return 0.0
        wide = float(time[1] - time[0])
        half = max(1, int(0.5 * length / wide))
        triples = self._triples(half)
        while half > 1 and np.count_nonzero(triples) < LEAST_BINS:
            half //= 2
            triples = self._triples(half)
        if np.count_nonzero(triples) < LEAST_BINS:
            return 0.0
        misses = (value[half:-half] - 0.5 * (value[: -2 * half] + value[2 * half :]))[triples]
        # A wandering baseline leaves its chord by the length to the power of three halves at most.
        stretched = float(max(0.5 * length / (half * wide), 1.0) ** 1.5)
        chance = 1.5 * noise**2 * self._step / wide
        return stretched * sqrt(max(float(misses @ misses) / len(misses) - chance, 0.0))

    def _triples(self, half: int) -> NDArray[np.bool_]:
        """Return of which bins neither they nor those `half` bins away are covered by a peak."""
        free = self._free
        return free[: -2 * half] & free[half:-half] & free[2 * half :]


def coarse_step(survey: Survey) -> float:
    """Return the step to which a signal is rounded where its noise does not hide it; else 0.

    Where there is nothing but one value between the peaks, their flanks show the step.
    """
    if len(np.unique(survey.free_signal[:SEEN_FIRST])) >= FEW_VALUES:
        return 0.0
    step = step_of_some(survey.trace.signal)
    return step if survey.noise_sd < COARSE * step else 0.0


def _offset_by(step: float, signal: FloatArray, noise_sd: float) -> float:
    """Return how far rounding to `step` moves a mean on a flat stretch, as a standard deviation over levels.

    The first Fourier term of the mean of a rounded normal value: step/π · exp(−2π²σ²/step²) in amplitude
    (Widrow, Kollár and Liu, IEEE Trans. Instrum. Meas. 1996, 45, 353).
    """
    if not step:
        return 0.0
    apart = np.abs(np.diff(signal)) > 1.5 * step
    is_told = np.count_nonzero(apart) > TWO_STEPS_APART * len(apart)
    variance = max((noise_sd / step) ** 2 - SHOWN_BY_A_LEVEL, 0.0) if is_told else HIDDEN_NOISE**2
    return step / (pi * sqrt(2.0)) * exp(-2.0 * pi**2 * variance)
