"""Every metric of a peak that needs no other marker.

In: peaks and their outlines. Out: the metrics of each by field name of `PeakRow`; None is 'not measured'.
"""

from collections.abc import Mapping, Sequence

import numpy as np

from lyewitness.peaks import formulas
from lyewitness.peaks.noise import noise_range
from lyewitness.peaks.outlining import Outlines
from lyewitness.peaks.peak import Peak, peak_to_valley
from lyewitness.words.arrays import FloatArray

Metrics = Mapping[str, float | None]


def metrics_of(peaks: Sequence[Peak], outlines: Outlines, noise_half_widths: float) -> list[Metrics]:
    """Return the metrics of each peak, in the order of the outlines."""
    apex, height = outlines.apex, outlines.height
    (l05, l10, l50), (r05, r10, r50) = outlines.left.T, outlines.right.T
    width = r50 - l50
    with np.errstate(divide="ignore", invalid="ignore"):
        asymmetry = formulas.asymmetry_10(apex - l10, r10 - apex)
        plates = formulas.plate_number_half_height(apex, width)
        tangents = outlines.tangent_right - outlines.tangent_left
        lengths = _known([peak.column.length_mm for peak in peaks])
        particles = _known([peak.column.particle_um for peak in peaks])
        noise = _noise_ranges(peaks, apex, noise_half_widths * width)
        columns = {
            "retention_time_min": apex,
            "plate_number_half_height": plates,
            "plate_number_tangent": formulas.plate_number_tangent(apex, tangents),
            "plate_number_moments": formulas.plate_number_moments(outlines.mean, outlines.variance),
            "plate_number_emg": formulas.plate_number_emg(apex, r10 - l10, asymmetry),
            "reduced_plate_height": formulas.reduced_plate_height(plates, lengths, particles),
            "symmetry_factor": formulas.symmetry_factor(r05 - l05, apex - l05),
            "asymmetry_10": asymmetry,
            "peak_area": outlines.area,
            "peak_height": height,
            "signal_to_noise": formulas.signal_to_noise(height, noise),
            "width_half_min": width,
            "peak_to_valley": _known(
                [peak_to_valley(peak, h) for peak, h in zip(peaks, height, strict=True)]
            ),
        }
    rows = zip(*(_measured(values) for values in columns.values()), strict=True)
    return [dict(zip(columns, row, strict=True)) for row in rows]


def _known(values: Sequence[float | None]) -> FloatArray:
    """Return the values with NaN for None."""
    return np.array(values, dtype=np.float64)


def _measured(values: FloatArray) -> list[float | None]:
    """Return plain floats, None where a value is not finite or not positive."""
    good = np.isfinite(values) & (values > 0)
    return [value if is_good else None for value, is_good in zip(values.tolist(), good.tolist(), strict=True)]


def _noise_ranges(peaks: Sequence[Peak], apex: FloatArray, width: FloatArray) -> FloatArray:
    """Return the range of the noise beside each peak, in windows of `width`; NaN where there is none."""
    known = zip(peaks, apex.tolist(), width.tolist(), np.isfinite(width).tolist(), strict=True)
    return _known(
        [noise_range(peak.survey, at, wide) if is_known else None for peak, at, wide, is_known in known]
    )
