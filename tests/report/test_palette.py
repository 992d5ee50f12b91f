"""Colours that stay apart for every reader, and words that can be read.

Contrast: the relative luminance and contrast ratio of WCAG 2.1 (W3C), at least 4.5 to 1 for text
(1.4.3) and 3 to 1 for shapes (1.4.11). Colour blindness: the matrices of Machado, Oliveira and
Fernandes (IEEE Trans. Vis. Comput. Graph. 15 (2009) 1291) at full severity, as colorspacious has
them, and distances in CAM02-UCS, where about 1 is just noticeable.
"""

from __future__ import annotations

from itertools import combinations

import numpy as np
import pytest
from colorspacious import cspace_convert, deltaE

from fitcheck.report.drawings.palette import DARK, LIGHT, STATES, drawing_style, themes

THEMES = {"light": LIGHT, "dark": DARK}
SIGHT = (None, "protanomaly", "deuteranomaly", "tritanomaly")
APART = 15.0


def rgb(colour: str) -> np.ndarray:
    return np.array([int(colour[i : i + 2], 16) / 255 for i in (1, 3, 5)])


def contrast(one: str, other: str) -> float:
    """WCAG 2.1, definitions of relative luminance and contrast ratio."""

    def luminance(colour: str) -> float:
        linear = [c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in rgb(colour)]
        return float(np.dot(linear, [0.2126, 0.7152, 0.0722]))

    dark, light = sorted(map(luminance, (one, other)))
    return (light + 0.05) / (dark + 0.05)


def seen(colour: str, sight: str | None) -> np.ndarray:
    if sight is None:
        return rgb(colour)
    space = {"name": "sRGB1+CVD", "cvd_type": sight, "severity": 100}
    return np.clip(cspace_convert(rgb(colour), space, "sRGB1"), 0, 1)


def test_contrast_of_known_pairs():
    """Black on white is 21 to 1; #767676 is known as the lightest grey that passes 4.5 on white."""
    assert contrast("#000000", "#ffffff") == pytest.approx(21)
    assert contrast("#767676", "#ffffff") >= 4.5 > contrast("#777777", "#ffffff")


@pytest.mark.parametrize("theme", THEMES)
def test_words_can_be_read(theme):
    colours = THEMES[theme]
    for name in ("ink", "quiet", *STATES):
        for ground in ("paper", "tint"):
            assert contrast(colours[name], colours[ground]) >= 4.5, (name, ground)
    assert contrast(colours["ink"], colours["metal"]) >= 4.5
    assert contrast(colours["line"], colours["paper"]) >= 3


@pytest.mark.parametrize("sight", SIGHT)
@pytest.mark.parametrize("theme", THEMES)
def test_states_stay_apart(theme, sight):
    colours = THEMES[theme]
    for one, other in combinations((*STATES, "ink"), 2):
        apart = deltaE(seen(colours[one], sight), seen(colours[other], sight), input_space="sRGB1")
        assert apart >= APART, (one, other, float(apart))


def test_looks_use_the_palette_alone():
    """No colour stands in the style sheets but by its name."""
    used = set(__import__("re").findall(r"var\(--(\w+)\)", drawing_style()))
    assert used <= set(LIGHT) == set(DARK)
    assert "#" not in drawing_style()
    assert themes(":root").count("--paper") == 3
