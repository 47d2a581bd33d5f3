"""Colour measures for the tests: CIELAB, CIEDE2000, colour blindness after Machado, Oliveira and Fernandes (2009), WCAG contrast.

Written here from the published formulas, sharing no code with the package.
"""

import math

import numpy as np

# Machado et al. 2009, severity 1, for linear RGB (published table, quoted from memory; compared with a colour library).
MACHADO = {
    "protan": [[0.152286, 1.052583, -0.204868], [0.114503, 0.786281, 0.099216], [-0.003882, -0.048116, 1.051998]],
    "deutan": [[0.367322, 0.860646, -0.227968], [0.280085, 0.672501, 0.047413], [-0.011820, 0.042940, 0.968881]],
    "tritan": [[1.255528, -0.076749, -0.178779], [-0.078411, 0.930809, 0.147602], [0.004733, 0.691367, 0.303900]],
}
SRGB_TO_XYZ = np.array([[0.4124564, 0.3575761, 0.1804375], [0.2126729, 0.7151522, 0.0721750], [0.0193339, 0.1191920, 0.9503041]])
WHITE = SRGB_TO_XYZ.sum(axis=1)  # D65


def linear(hex_colour):
    """Linear RGB, 0 to 1, of '#RRGGBB' (IEC 61966-2-1)."""
    value = np.array([int(hex_colour[i : i + 2], 16) for i in (1, 3, 5)]) / 255
    return np.where(value <= 0.04045, value / 12.92, ((value + 0.055) / 1.055) ** 2.4)


def lightness(hex_colour) -> float:
    """CIE L* of '#RRGGBB'."""
    return lab(linear(hex_colour))[0]


def seen(hex_colour, how="normal"):
    """Linear RGB as seen: 'normal', 'protan', 'deutan', 'tritan', or 'grey' (relative luminance)."""
    rgb = linear(hex_colour)
    if how == "grey":
        return np.full(3, luminance(rgb))
    return np.clip(np.array(MACHADO[how]) @ rgb, 0, 1) if how in MACHADO else rgb


def luminance(rgb):
    return float(SRGB_TO_XYZ[1] @ rgb)


def lab(rgb):
    """CIELAB of linear RGB, D65."""
    ratio = SRGB_TO_XYZ @ rgb / WHITE
    f = np.where(ratio > (6 / 29) ** 3, np.cbrt(ratio), ratio / (3 * (6 / 29) ** 2) + 4 / 29)
    return 116 * f[1] - 16, 500 * (f[0] - f[1]), 200 * (f[1] - f[2])


def difference(a, b, how="normal"):
    """CIEDE2000 between two hex colours as seen."""
    return ciede2000(lab(seen(a, how)), lab(seen(b, how)))


def contrast(a, b):
    """WCAG contrast ratio of two hex colours."""
    bright, dark = sorted((luminance(linear(a)), luminance(linear(b))), reverse=True)
    return (bright + 0.05) / (dark + 0.05)


def ciede2000(first, second):
    """Colour difference of two CIELAB colours (CIE 142-2001; Sharma, Wu and Dalal 2005)."""
    (l1, a1, b1), (l2, a2, b2) = first, second
    mean_c = (math.hypot(a1, b1) + math.hypot(a2, b2)) / 2
    g = 0.5 * (1 - math.sqrt(mean_c**7 / (mean_c**7 + 25.0**7)))
    a1, a2 = (1 + g) * a1, (1 + g) * a2
    c1, c2 = math.hypot(a1, b1), math.hypot(a2, b2)
    h1 = math.degrees(math.atan2(b1, a1)) % 360 if c1 else 0.0
    h2 = math.degrees(math.atan2(b2, a2)) % 360 if c2 else 0.0
    step = h2 - h1
    if c1 * c2 == 0:
        step = 0.0
    elif step > 180:
        step -= 360
    elif step < -180:
        step += 360
    big_h = 2 * math.sqrt(c1 * c2) * math.sin(math.radians(step) / 2)
    mean_l, mean_c = (l1 + l2) / 2, (c1 + c2) / 2
    if c1 * c2 == 0:
        mean_h = h1 + h2
    elif abs(h1 - h2) <= 180:
        mean_h = (h1 + h2) / 2
    else:
        mean_h = (h1 + h2 + (360 if h1 + h2 < 360 else -360)) / 2
    t = (
        1
        - 0.17 * math.cos(math.radians(mean_h - 30))
        + 0.24 * math.cos(math.radians(2 * mean_h))
        + 0.32 * math.cos(math.radians(3 * mean_h + 6))
        - 0.20 * math.cos(math.radians(4 * mean_h - 63))
    )
    s_l = 1 + 0.015 * (mean_l - 50) ** 2 / math.sqrt(20 + (mean_l - 50) ** 2)
    s_c, s_h = 1 + 0.045 * mean_c, 1 + 0.015 * mean_c * t
    turn = 30 * math.exp(-(((mean_h - 275) / 25) ** 2))
    r_t = -math.sin(math.radians(2 * turn)) * 2 * math.sqrt(mean_c**7 / (mean_c**7 + 25.0**7))
    dl, dc, dh = (l2 - l1) / s_l, (c2 - c1) / s_c, big_h / s_h
    return math.sqrt(dl**2 + dc**2 + dh**2 + r_t * dc * dh)
