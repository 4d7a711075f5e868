"""Tops in traces: where something stands out of noise and drift, at two widths of looking.

In: times and signals of traces. Out: the `Top`s of each in the order of time. Nothing here knows what a
marker is. Traces of equal length are looked at together.

Before them, means of neighbouring samples and the noise from one sample to the next, for one signal or
many.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from lyewitness.peaks.maxima import half_widths, prominences
from lyewitness.words.arrays import FloatArray

# A quantile of so many differences is known to 3 %.
ENOUGH_DIFFERENCES = 2500
QUANTILE, NORMAL_QUANTILE = 0.4, 0.5244005
"""Share of the differences that are smaller than the one that tells, and where a normal one has it."""
COARSE = 0.5
"""Steps larger than this share of the noise move its quantile by more than a quarter of it."""
SOME = 1500
"""Samples of a trace that are looked at for the step to which it is rounded."""


def binned(values: FloatArray, size: int) -> FloatArray:
    """Return (…, n // size) means of `size` consecutive values; an incomplete last bin is left out."""
    if size == 1:
        return values
    bins = values.shape[-1] // size
    whole = values[..., : bins * size].reshape(*values.shape[:-1], bins, size)
    # A matrix product: many times faster than a mean over a short axis.
    return np.asarray(whole @ np.full(size, 1.0 / size))


def mean_of_few(values: FloatArray) -> float:
    """Return the mean of a handful of values, for which calling the library takes longer than adding up."""
    return float(sum(values.tolist()) / len(values))


def step_of(signal: FloatArray) -> float:
    """Return the step to which a signal is rounded: the smallest difference between any two of its values."""
    values = np.unique(signal)
    apart = np.diff(values)
    # Decimal fractions are not exact as doubles: what differs by less than this is one and the same value.
    apart = apart[apart > 1e-9 * max(abs(float(values[0])), abs(float(values[-1])))]
    return float(apart.min()) if len(apart) else 0.0


def noise_sds(signal: FloatArray, lag: int = 1) -> FloatArray:
    """Return (…,) the standard deviation of the noise in signals (…, n), from differences at `lag`.

    The 40 % quantile of |difference| over √2 × 0.524 (the same quantile of a normal distribution): peaks
    may take half of the trace before they count.
    """
    # Some thousand differences are plenty: of a long trace every second, third, … is taken.
    every = max(1, signal.shape[-1] // ENOUGH_DIFFERENCES)
    difference = np.abs(signal[..., lag::every] - signal[..., :-lag:every])
    place = int(QUANTILE * difference.shape[-1])
    difference.partition(place, axis=-1)
    return np.asarray(difference[..., place] / (NORMAL_QUANTILE * np.sqrt(2.0)))


def step_of_some(signal: FloatArray) -> float:
    """Return the smallest difference between some hundred samples of a signal: hardly two differ by less."""
    apart = np.abs(np.diff(signal[: SOME * max(1, len(signal) // SOME) : max(1, len(signal) // SOME)]))
    apart = apart[apart > 1e-9 * float(np.abs(signal).max(initial=0.0))]
    return float(apart.min()) if len(apart) else 0.0


def noise_sd(signal: FloatArray) -> float:
    """Return the standard deviation of the noise in one signal, not less than rounding makes it (q/√12)."""
    step = step_of_some(signal)
    noise = float(noise_sds(signal))
    if step > COARSE * noise:
        noise = _noise_in_steps(signal, step)
    return max(noise, step / float(np.sqrt(12.0)))


def _noise_in_steps(signal: FloatArray, step: float) -> float:
    """Return the noise of a signal in few steps, whose quantile is a whole number of them.

    Differences of one size are spread evenly over half a step to both sides: the quantile lies among them.
    """
    every = max(1, len(signal) // ENOUGH_DIFFERENCES)
    steps = np.rint(np.abs(signal[1::every] - signal[:-1:every]) / step)
    whole = float(np.sort(steps)[int(QUANTILE * len(steps))])
    below, up_to = float((steps < whole).mean()), float((steps <= whole).mean())
    first = max(whole - 0.5, 0.0)
    quantile = first + (whole + 0.5 - first) * (QUANTILE - below) / (up_to - below)
    return quantile * step / (NORMAL_QUANTILE * float(np.sqrt(2.0)))


PROMINENCE_IN_NOISE = 8.5
"""A top rises this many standard deviations of the binned noise above the passes beside it: of thousands of
samples the highest and the lowest are seven apart by chance."""
PROMINENCE_SHARE = 0.002
"""…and this share of its own height above the lowest pass: noise rides on every large peak."""
SHALLOW = 0.3
"""A top is shallow where it rises less than this share of that height above the passes beside it."""
LEAST_WIDTH = 0.5
"""In samples, at half of the prominence."""
# Samples: a sharp top rises out of such a block and its neighbours; a broader one is found by a coarser look.
BLOCK = 32


@dataclass(frozen=True, eq=False, slots=True)
class Maxima:
    """What was found, each (m,). Times in minutes."""

    row: NDArray[np.intp]
    apex: FloatArray
    prominence: FloatArray
    """Height above the higher of both passes."""
    left: FloatArray
    """Half of the prominence, before the apex …"""
    right: FloatArray
    """… and behind it."""
    signal: FloatArray
    """At the apex."""
    shallow: NDArray[np.bool_]


def maxima_of(time: FloatArray, signal: FloatArray) -> Maxima:
    """Return what stands out of each row of `signal` (r, n); a light smoothing joins neighbouring samples.

    The rows are searched end to end, with a wall behind each, so that no row sees its neighbours.
    """
    smooth = _smoothed(signal)
    threshold = PROMINENCE_IN_NOISE * noise_sds(smooth, lag=3)
    threshold = np.maximum(threshold, 1e-9 * (smooth.max(axis=1) - smooth.min(axis=1)))
    # A wall at both ends: a peak cut off by the end of the trace is a peak all the same.
    for end, beside in ((0, 1), (-1, -2)):
        smooth[:, end] = np.minimum(smooth[:, end], smooth[:, beside])
    walled = _walled(smooth)
    joined, width = walled.ravel(), walled.shape[1]
    places = _local_maxima(joined, _stands_out(walled, threshold))
    prominence, left, right = prominences(joined, places)
    above = joined[places] - np.minimum(joined[left], joined[right])
    kept = prominence >= np.maximum(threshold[places // width], PROMINENCE_SHARE * above)
    places, prominence, above, left, right = (part[kept] for part in (places, prominence, above, left, right))
    wide, before, behind = half_widths(joined, places, (prominence, left, right))
    half = joined[places] - 0.5 * prominence
    kept = wide >= LEAST_WIDTH
    row, place = np.divmod(places[kept], width)
    start = width * row.astype(np.float64)
    return Maxima(
        row=row,
        apex=time[row, place],
        prominence=prominence[kept],
        left=_crossed(time, smooth, row, before[kept] - start, half[kept]),
        right=_crossed(time, smooth, row, behind[kept] - start, half[kept]),
        signal=smooth[row, place],
        shallow=prominence[kept] < SHALLOW * above[kept],
    )


def _smoothed(signal: FloatArray) -> FloatArray:
    """Return the rows with half of each sample and a quarter of both beside it."""
    smooth = signal.copy()
    inner = smooth[:, 1:-1]
    inner += inner
    inner += signal[:, :-2]
    inner += signal[:, 2:]
    inner *= 0.25
    return smooth


def _walled(rows: FloatArray) -> FloatArray:
    """Return the rows with a wall behind each, so long that whole blocks make up a row."""
    walled = np.full((len(rows), (rows.shape[1] // BLOCK + 1) * BLOCK), np.inf)
    walled[:, : rows.shape[1]] = rows
    return walled


def _stands_out(walled: FloatArray, threshold: FloatArray) -> NDArray[np.bool_]:
    """Tell of each sample whether it is a threshold above the lowest of its block and the two beside it.

    What is not stands out only of something broader, which a coarser look finds. It spares the search for the
    feet of a thousand maxima of noise.
    """
    blocks = walled.reshape(len(walled), -1, BLOCK)
    starts = np.arange(0, walled.size, BLOCK)
    lowest = np.minimum.reduceat(walled.ravel(), starts).reshape(blocks.shape[:2])
    around = lowest.copy()
    np.minimum(around[:, 1:], lowest[:, :-1], out=around[:, 1:])
    np.minimum(around[:, :-1], lowest[:, 1:], out=around[:, :-1])
    return np.asarray(blocks >= (around + threshold[:, None])[:, :, None]).ravel()


def _local_maxima(signal: FloatArray, stands_out: NDArray[np.bool_]) -> NDArray[np.intp]:
    """Return where the signal is higher than on both sides, of a flat top the middle; walls do not count."""
    inner = signal[1:-1]
    first = np.flatnonzero((inner > signal[:-2]) & (inner >= signal[2:]) & stands_out[1:-1]) + 1
    first = first[signal[first] < np.inf]
    if not np.any(signal[first] == signal[first + 1]):
        return first
    changes = np.flatnonzero(signal[1:] != signal[:-1])
    last = changes[changes.searchsorted(first)]
    is_top = signal[last + 1] < signal[last]
    return (first[is_top] + last[is_top]) // 2


def _crossed(
    time: FloatArray, smooth: FloatArray, row: NDArray[np.intp], place: FloatArray, level: FloatArray
) -> FloatArray:
    """Return the times near `place` at which the row crosses `level`.

    Only the sample before the place is taken from it: where rows stand end to end its fraction is rounded.
    """
    before = np.minimum(place.astype(np.intp), time.shape[1] - 2)
    here, there = smooth[row, before], smooth[row, before + 1]
    share = np.clip((level - here) / np.where(there == here, np.inf, there - here), 0.0, 1.0)
    return np.asarray(time[row, before] + share * (time[row, before + 1] - time[row, before]))


COARSENINGS = (1, 10)
"""Bins, in units of the finest one: sharp peaks stand out in the first, weak and broad ones in the second."""
LEAST_HEIGHT_IN_NOISE = 4.5
"""A peak is this many standard deviations of the unbinned noise high at least, which is S/N = 2 or less: the
detection limit is 3 by common practice."""
SEEN_IN_BINS = 0.7
"""Binning rounds a top off a little: it keeps this share of its height at least; the fit is judged by all."""
LEAST_PLATES = 20.0
"""A peak as wide at half height as half of its retention has N = 22."""
# A column of 150 mm with 2 µm particles at its best (reduced plate height 2) makes 37 500; tests use shorter
# ones.
MOST_PLATES = 30000.0
# Allowance for a width read too short on a noisy or thinly sampled crest: 1.6 times, which is 2.7 times N.
SPIKES_FROM = 80000.0
TALL = 0.25
"""Share of the highest top from which on a top counts as tall."""
WORST_SHARE = 25.0
"""A peak has this share of the plates of the sharpest one at least: it is not five times as wide. A base
on spent silica loses nine tenths of its plates; a void peak made outside the column has a fifth of a late
one's."""
AS_WIDE = 1.5
"""…or it is no wider in time than this many widths of that one: what widens peaks outside of the column
widens all of them alike, and costs an early one the most plates."""
HUMP_SHARE = 4.0
"""Where a tall top has less than this share of the plates of the sharpest one, the trace is looked at
without it."""
WIDER_BY_PLATES = 3.0
"""What is taken off then spares peaks of a third of the sharpest one's plates and cuts into broader ones."""
# A background is many times broader than a six-hundredth of the run.
BACKGROUND_BINS = 600
# Arms from the longest to none, each shorter by 4 % of the longest.
CUTS = 24
MOST_TOPS = 14
"""Of a trace with more tops than this only the highest are looked at."""
# Coarser rows hold no flanks of a peak.
LEAST_BINS = 20


@dataclass(frozen=True, slots=True)
class Top:
    """One local maximum that noise does not explain. Times in minutes."""

    apex_min: float
    height: float
    """Above the higher of its two passes (the prominence), signal unit."""
    left_min: float
    """Half of that height, before the apex …"""
    right_min: float
    """… and behind it."""
    signal: float
    """Signal at the apex, baseline included."""
    shallow: bool = False
    """True where it stands out of a higher peak only a little: its width says nothing then."""


@dataclass(frozen=True, slots=True)
class Sharpest:
    """What a peak looks like on a trace: the tall one with the most plates."""

    plates: float
    """0 where there is none …"""
    width_min: float
    """… at half height, infinite where there is none."""

    def is_like(self, plates: float, width_min: float) -> bool:
        """Tell whether something has enough of its plates, or is about as narrow; else it is background."""
        return plates > self.plates / WORST_SHARE or width_min <= AS_WIDE * self.width_min


def sharpest_of(plates: Sequence[float], heights: Sequence[float], widths: Sequence[float]) -> Sharpest:
    """Return the sharpest of the tall ones, which tell what a peak looks like here."""
    tall = TALL * max(heights, default=0.0)
    likely = [
        (n, width)
        for n, height, width in zip(plates, heights, widths, strict=True)
        if height >= tall and LEAST_PLATES < n < SPIKES_FROM
    ]
    return Sharpest(*max(likely, default=(0.0, np.inf)))


def rises_of(
    time: FloatArray, signal: FloatArray, noise_sd: float, narrowest_sigma_min: float
) -> tuple[Top, ...]:
    """Return everything that stands out of the noise of one trace, be it peak, spike, hump or drift."""
    size = _finest(time, narrowest_sigma_min)
    least = SEEN_IN_BINS * LEAST_HEIGHT_IN_NOISE * noise_sd
    return tuple(_at_two_widths(binned(time, size)[None, :], binned(signal, size)[None, :], [least])[0])


def _finest(time: FloatArray, narrowest_sigma_min: float) -> int:
    """Return how many samples the sharpest σ to be looked for holds, 1 at least."""
    return max(1, int(narrowest_sigma_min * (len(time) - 1) / float(time[-1] - time[0])))


def find_tops(
    times: Sequence[FloatArray],
    signals: Sequence[FloatArray],
    noises: Sequence[float],
    narrowest_sigma_min: Sequence[float],
) -> list[tuple[Top, ...]]:
    """Return every top of each trace, sharp ones first looked for, broad ones added where none is near."""
    finest = [_finest(time, sigma) for time, sigma in zip(times, narrowest_sigma_min, strict=True)]
    alike: dict[tuple[int, int], list[int]] = {}
    for trace, size in enumerate(finest):
        alike.setdefault((len(times[trace]), size), []).append(trace)
    least = [SEEN_IN_BINS * LEAST_HEIGHT_IN_NOISE * noise for noise in noises]
    found: list[list[Top]] = [[] for _ in times]
    for (_, size), places in alike.items():
        time = np.stack([binned(times[place], size) for place in places])
        signal = np.stack([binned(signals[place], size) for place in places])
        tops = _at_two_widths(time, signal, [least[place] for place in places])
        for place, own in zip(places, tops, strict=True):
            found[place] = own
    likely = [_likely(own) for own in found]
    for place, (seen, kept) in enumerate(zip(found, likely, strict=True)):
        sharp = sharpest_of([plates_of_top(top) for top in seen], [top.height for top in seen], _widths(seen))
        if _has_hump(seen, sharp):
            likely[place] = _above_humps(
                times[place], signals[place], finest[place], least[place], sharp, kept
            )
    return [tuple(sorted(own, key=lambda top: top.apex_min)) for own in likely]


def _widths(tops: Sequence[Top]) -> list[float]:
    """Return the width of each top at half of its prominence, minutes."""
    return [max(top.right_min - top.left_min, 1e-12) for top in tops]


def plates_of_top(top: Top) -> float:
    """Return 5.54 (tR/W)² of a top, W at half of its prominence."""
    return 5.54 * (top.apex_min / max(top.right_min - top.left_min, 1e-12)) ** 2


def _has_hump(tops: Sequence[Top], sharpest: Sharpest) -> bool:
    """Tell whether something tall stands on the trace that is much wider than the peaks are."""
    tall = TALL * max((top.height for top in tops), default=0.0)
    return any(top.height > tall and plates_of_top(top) < sharpest.plates / HUMP_SHARE for top in tops)


def _above_humps(
    time: FloatArray, signal: FloatArray, finest: int, least: float, sharpest: Sharpest, before: Sequence[Top]
) -> list[Top]:
    """Return the tops of a trace after what is much wider than its peaks was taken off."""
    background = wide_background(time, signal, sharpest.plates / WIDER_BY_PLATES)
    stacked = binned(time, finest)[None, :], binned(signal - background, finest)[None, :]
    seen = _likely(_at_two_widths(*stacked, [least])[0])
    levels = np.interp([top.apex_min for top in seen], time, background).tolist()
    found = [replace(top, signal=top.signal + level) for top, level in zip(seen, levels, strict=True)]
    # A top that was clear before keeps its outline, which no background has cut; so does one with the fewest
    # plates, which was kept for being narrow and would be cut off.
    wider = sharpest.plates / WORST_SHARE, sharpest.plates / HUMP_SHARE
    clear = [top for top in before if not wider[0] < plates_of_top(top) <= wider[1]]
    near = [any(other.left_min <= top.apex_min <= other.right_min for other in clear) for top in found]
    return clear + [top for top, known in zip(found, near, strict=True) if not known]


def wide_background(time: FloatArray, signal: FloatArray, plates: float) -> FloatArray:
    """Return what is left of a signal when everything narrower than a peak of so few `plates` is cut off.

    Each value is cut down to the mean of its neighbours at a distance that shrinks from such a peak's width
    to nothing (Ryan et al., Nucl. Instrum. Methods B 1988, 34, 396, from memory; here the distance grows
    with time, as widths do).
    """
    size = max(1, len(time) // BACKGROUND_BINS)
    places, value = binned(time, size), binned(signal, size)
    step = float(places[-1] - places[0]) / max(len(places) - 1, 1)
    most = places * np.sqrt(5.54 / plates) / step
    index = np.arange(len(places))
    reach = np.clip(most, 1.0, np.minimum(index, index[::-1])).astype(np.intp)
    for share in np.linspace(1.0, 0.0, CUTS, endpoint=False):
        arm = np.maximum((share * reach).astype(np.intp), np.minimum(1, reach))
        value = np.minimum(value, 0.5 * (value[index - arm] + value[index + arm]))
    return np.interp(time, places, value)


def _at_two_widths(time: FloatArray, signal: FloatArray, least: Sequence[float]) -> list[list[Top]]:
    """Return the tops of each row that are high enough; coarsely seen ones only where no sharp one stands."""
    found: list[list[Top]] = [[] for _ in least]
    now = 1
    for coarsening in COARSENINGS:
        time, signal = binned(time, coarsening // now), binned(signal, coarsening // now)
        now = coarsening
        if time.shape[1] < LEAST_BINS:
            break
        for row, own in enumerate(_tops_at(time, signal)):
            known = found[row]
            found[row] = known + [
                top
                for top in own
                if top.height > least[row]
                and not any(top.left_min <= other.apex_min <= top.right_min for other in known)
            ]
    return found


def _tops_at(time: FloatArray, signal: FloatArray) -> list[list[Top]]:
    """Return the tops of each row at one width of looking."""
    found = maxima_of(time, signal)
    tops: list[list[Top]] = [[] for _ in time]
    columns = (found.apex, found.prominence, found.left, found.right, found.signal, found.shallow)
    for row, *facts in zip(found.row.tolist(), *(column.tolist() for column in columns), strict=True):
        tops[row].append(Top(*facts))
    return tops


def _likely(tops: Sequence[Top]) -> list[Top]:
    """Return the tops that a column could have made: no spikes, no drift.

    Plate numbers tell: 5.54 (tR/W)² above `SPIKES_FROM` is a spike, below `LEAST_PLATES` drift, and what is
    far below those of the sharp tops on the same trace, and wider than they are, is a hump. A low and wide
    top under higher and narrower ones is drift, too.
    """
    wide, plates = _widths(tops), [plates_of_top(top) for top in tops]
    sharpest = sharpest_of(plates, [top.height for top in tops], wide)
    kept = [
        i
        for i in range(len(tops))
        if plates[i] > LEAST_PLATES
        and sharpest.is_like(plates[i], wide[i])
        and (plates[i] < SPIKES_FROM or tops[i].shallow)
    ]
    highest = sorted((tops[i].height for i in kept), reverse=True)[:MOST_TOPS]
    return [
        tops[i]
        for i in kept
        if tops[i].height >= highest[-1]
        and not any(
            tops[j].height > tops[i].height and wide[j] < 0.2 * wide[i] and _reaches(tops[i], tops[j])
            for j in kept
        )
    ]


def _reaches(wide: Top, narrow: Top) -> bool:
    """Tell whether the narrow top stands on the core of the wide one."""
    start, end = core_of(wide)
    return start < narrow.apex_min < end


def core_of(top: Top) -> tuple[float, float]:
    """Return start and end of the stretch that a top certainly needs."""
    front = max(top.apex_min - top.left_min, 0.2 * (top.right_min - top.left_min))
    back = max(top.right_min - top.apex_min, front)
    return top.apex_min - 4.0 * front, top.apex_min + 6.0 * back
