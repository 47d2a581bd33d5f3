"""Band radiance: the product's series against quadrature of Planck's law with another library's constants, and a handbook."""

from __future__ import annotations

import math

import numpy as np

from fencecast.evidence.check import Check, absolute, outside, relative, with_version
from fencecast.physics import radiance

# Share of a black body's emission below lambda T, as heat-transfer textbooks print it (published values, not checked against the
# originals).
HANDBOOK = {
    1000.0: 0.000321, 2000.0: 0.066728, 2898.0: 0.250108, 3000.0: 0.273232, 5000.0: 0.633747, 8000.0: 0.856288,
}  # fmt: skip
BANDS_UM = ((8.0, 14.0), (7.5, 13.5), (3.0, 5.0), (10.0, 10.1), (3.0, 20.0), (19.9, 20.0))
TEMPERATURES_K = (200.0, 233.15, 253.15, 273.15, 300.0, 355.0, 400.0)


def _c2_um_k() -> float:
    si = outside("scipy.constants")
    return si.h * si.c / si.k * 1e6


def _fraction(lambda_t: float) -> float:
    """Share below lambda T by quadrature of x^3/(exp(x) - 1)."""
    quad = outside("scipy.integrate").quad
    x = _c2_um_k() / lambda_t
    if x > 1.0:
        part = quad(lambda y: y**3 * math.exp(-y) / -math.expm1(-y), x, x + 80.0, epsabs=0.0, epsrel=1e-13, limit=200)[0]
        return 15.0 / math.pi**4 * part
    part = quad(lambda y: y**3 / math.expm1(y), 0.0, x, epsabs=0.0, epsrel=1e-13)[0]
    return 1.0 - 15.0 / math.pi**4 * part


def _spectral(wavelength_um: float, temperature_k: float) -> float:
    """Planck's law [W/(m²·sr·µm)]."""
    si = outside("scipy.constants")
    return 2e24 * si.h * si.c**2 / wavelength_um**5 / math.expm1(_c2_um_k() / (wavelength_um * temperature_k))


def _spectral_slope(wavelength_um: float, temperature_k: float) -> float:
    """Its derivative by temperature."""
    x = _c2_um_k() / (wavelength_um * temperature_k)
    return _spectral(wavelength_um, temperature_k) * x / -math.expm1(-x) / temperature_k


def _quadrature(function, temperature_k: float, band_um: tuple[float, float]) -> float:
    quad = outside("scipy.integrate").quad
    return quad(function, *band_um, args=(temperature_k,), epsabs=0.0, epsrel=1e-12, limit=200)[0]


def planck_fraction() -> Check:
    """Catches a wrong coefficient or too few terms in either of the two series."""
    places = np.array([500.0, 800.0, 1448.0, 3000.0, 5000.0, 7990.0, 7996.0, 12000.0, 50000.0])
    return Check(
        "planck_fraction",
        "Black-body fraction, 500-50,000 µm K",
        relative([radiance.planck_fraction(v) for v in places], [_fraction(v) for v in places]),
        "relative",
        1e-10,
        "where the series are cut",
        f"quadrature of Planck's law, CODATA constants ({with_version('scipy')})",
        len(places),
    )


def planck_handbook() -> Check:
    """Catches a wrong argument: frequency for wavelength, a slip of a thousand."""
    ours = [radiance.planck_fraction(v) for v in HANDBOOK]
    return Check(
        "planck_handbook",
        "Black-body fraction, 1000-8000 µm K",
        absolute(ours, list(HANDBOOK.values())),
        "of 1",
        5e-5,
        "the printed table lies 4e-5 above exact quadrature",
        "black-body table of heat-transfer handbooks (published values, not checked against the originals)",
        len(ours),
        note=f"F(0-3000 µm K) {radiance.planck_fraction(3000.0):.6f}",
    )


def band_radiance() -> Check:
    """Catches a wrong band, a factor of pi, digits lost where two fractions nearly cancel."""
    cases = [(t, *band) for t in TEMPERATURES_K for band in BANDS_UM]
    theirs = [_quadrature(_spectral, t, (low, high)) for t, low, high in cases]
    return Check(
        "band_radiance",
        "Band radiance, -73..127 °C, bands in 3-20 µm",
        relative([radiance.band_radiance(*case) for case in cases], theirs),
        "relative",
        1e-7,
        "two fractions are subtracted in 64-bit numbers",
        f"quadrature of Planck's law, CODATA constants ({with_version('scipy')})",
        len(cases),
        note=f"L(20 °C, 8-14 µm) {radiance.band_radiance(293.15, 8.0, 14.0):.4f} W/(m²·sr)",
    )


def band_radiance_slope() -> Check:
    """Catches a wrong edge term in the closed derivative, on which NETD depends."""
    cases = [(t, *band) for t in TEMPERATURES_K for band in BANDS_UM]
    theirs = [_quadrature(_spectral_slope, t, (low, high)) for t, low, high in cases]
    return Check(
        "band_radiance_slope",
        "Its slope with temperature, same range",
        relative([radiance.band_radiance_slope(*case) for case in cases], theirs),
        "relative",
        1e-7,
        "two fractions are subtracted in 64-bit numbers",
        f"quadrature of the derivative of Planck's law ({with_version('scipy')})",
        len(cases),
        note=f"dL/dT(300 K) {radiance.band_radiance_slope(300.0, 8.0, 14.0):.5f} W/(m²·sr·K)",
    )


CHECKS = (planck_fraction, planck_handbook, band_radiance, band_radiance_slope)
