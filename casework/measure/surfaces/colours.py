"""Which colours show a length, so that every eye reads more and less the same way?

One hue from light to dark: lightness alone carries the value, so that people who mix up hues,
and a black-and-white print, show the same order. Steps are even in the lightness of CIE 1976
L*a*b* (ISO/CIE 11664-4) and are turned into sRGB (IEC 61966-2-1) for the white point D65.
"""

from dataclasses import dataclass

import numpy as np

STEPS = 128  # finer ones would be lost in the rounding to 8 bits
LIGHTEST, DARKEST = 95.0, 24.0  # L*; white paper and black lines stay apart from both
HUE_DEG = 262.0  # a blue, far from the ivory and the greys in which parts are drawn
MOST_CHROMA = 40.0
UNKNOWN = (178, 178, 174)  # where a length is not known

_WHITE = np.array([0.95047, 1.0, 1.08883])  # D65, 2 degrees
_TO_RGB = np.array(
    [
        [3.2404542, -1.5371385, -0.4985314],
        [-0.9692660, 1.8760108, 0.0415560],
        [0.0556434, -0.2040259, 1.0572252],
    ]
)


@dataclass(frozen=True, slots=True)
class Ramp:
    """How lengths become colours: `light_mm` is drawn lightest, `dark_mm` darkest.

    Either may be the larger one: dark is where to look. `lines`, words and a length in mm each,
    usually limits, are drawn as dark lines where the surface passes them.
    """

    light_mm: float
    dark_mm: float
    lines: tuple[tuple[str, float], ...] = ()

    def shares(self, lengths_mm: np.ndarray) -> np.ndarray:
        """Return the places (k,) on the ramp, 0 lightest, 1 darkest; nan stays nan."""
        share = (np.asarray(lengths_mm, float) - self.light_mm) / (self.dark_mm - self.light_mm)
        return np.clip(share, 0.0, 1.0)

    def __post_init__(self):
        if self.light_mm == self.dark_mm:
            raise ValueError("a ramp runs between two lengths")


def one_hue() -> np.ndarray:
    """Return the colours (128, 3) uint8 of the ramp, from light to dark."""
    share = np.linspace(0.0, 1.0, STEPS)
    lightness = LIGHTEST + share * (DARKEST - LIGHTEST)
    chroma = MOST_CHROMA * np.sin(np.pi * (0.06 + 0.70 * share)) ** 0.9
    while True:
        rgb = _linear_rgb(lightness, chroma)
        is_outside = ((rgb < 0.0) | (rgb > 1.0)).any(axis=1)
        if not is_outside.any():
            return np.round(255.0 * _encoded(rgb)).astype(np.uint8)
        chroma[is_outside] *= 0.98


def _linear_rgb(lightness, chroma):
    hue = np.radians(HUE_DEG)
    f = np.repeat(((lightness + 16.0) / 116.0)[:, None], 3, axis=1)
    f[:, 0] += chroma * np.cos(hue) / 500.0
    f[:, 2] -= chroma * np.sin(hue) / 200.0
    edge = 6.0 / 29.0
    xyz = _WHITE * np.where(f > edge, f**3, 3.0 * edge**2 * (f - 4.0 / 29.0))
    return xyz @ _TO_RGB.T


def _encoded(linear):
    bright = 1.055 * np.maximum(linear, 1e-9) ** (1 / 2.4) - 0.055
    return np.where(linear <= 0.0031308, 12.92 * linear, bright)
