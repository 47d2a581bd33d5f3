"""The detector: how a blurred rectangle fills pixels, and the noise that its contrast is compared with."""

import math

import numpy as np

from fencecast.jit import compiled, compiled_inline, vectorised
from fencecast.lanes import at_least, at_most

_SQRT_HALF = math.sqrt(0.5)
_INV_SQRT_2PI = 1.0 / math.sqrt(2.0 * math.pi)


@compiled
def normal_cdf(x):
    """Phi(x), the standard normal distribution function (complementary error function of the C library)."""
    return 0.5 * math.erfc(-x * _SQRT_HALF)


@compiled
def ramp_integral(x):
    """G(x) = x Phi(x) + phi(x), the integral of Phi: a blurred edge seen through one pixel."""
    return x * normal_cdf(x) + _INV_SQRT_2PI * math.exp(-0.5 * x * x)


@compiled
def pixel_share(pixel, low, high, blur_px):
    """Share of pixel [pixel, pixel + 1) that the interval [low, high) covers after a Gaussian blur of sd `blur_px`.

    X = s [G((i+1-a)/s) - G((i-a)/s) - G((i+1-b)/s) + G((i-b)/s)]. Exact; the shares add up to high - low at any phase and
    size. This is the reference form in float64; the kernel evaluates the same expression as differences of node values.
    Check: an outside image renderer (box * Gaussian * pixel).
    """
    s = blur_px
    return s * (
        ramp_integral((pixel + 1.0 - low) / s)
        - ramp_integral((pixel - low) / s)
        - ramp_integral((pixel + 1.0 - high) / s)
        + ramp_integral((pixel - high) / s)
    )


@compiled
def temporal_noise_radiance(netd_k, slope_300k, f_number, netd_f_number, transmission):
    """Temporal noise n0 [W/(m²·sr)] = NETD dL/dT(300 K).

    NETD is for the camera with its lens. Only when `netd_f_number` is above 0 (a figure for another lens) is it scaled by
    (4F^2 + 1) / (4Fref^2 + 1) and divided by the lens transmission. Source: ASTM E1543 defines NETD; its scaling is a published
    value, not checked against the original.
    """
    noise = netd_k * slope_300k
    if netd_f_number > 0.0:
        noise *= (4.0 * f_number**2 + 1.0) / (4.0 * netd_f_number**2 + 1.0) / transmission
    return noise


# Phi in float32 for the pixel loop. erf(x) = x P(x^2) / Q(x^2), |x| clamped to 4, fitted for this project by weighted least
# squares on Chebyshev nodes, P halved here: error 5e-8 in exact arithmetic, 4e-7 with float32 rounding. A table lost (gathers are
# slow), and a plain polynomial has tails of 1e-4 that add up over many pixels.
_P = tuple(
    np.float32(0.5 * c)
    for c in (1.12837868, 0.21394492, 0.052433497, 0.00429306305, 0.00015553714, -1.990324e-06, 1.92172202e-08)
)
_Q = tuple(np.float32(c) for c in (1.0, 0.522931404, 0.120799713, 0.0155511098, 0.00109804083))
_P0, _P1, _P2, _P3, _P4, _P5, _P6 = _P
_Q0, _Q1, _Q2, _Q3, _Q4 = _Q
_HALF = np.float32(0.5)
_ONE = np.float32(1.0)
_ZERO = np.float32(0.0)
_FOUR = np.float32(4.0)
_SQRT_HALF32 = np.float32(_SQRT_HALF)


@compiled_inline
def half_erf32(t):
    """(1 + erf t) / 2 in float32, of a number or of lanes, absolute error under 3e-7, by which it may pass 0 or 1.

    This is Phi(x) for t = x / sqrt(2).
    """
    t = at_most(at_least(t, -_FOUR), _FOUR)
    y = t * t
    numerator = _P0 + y * (_P1 + y * (_P2 + y * (_P3 + y * (_P4 + y * (_P5 + y * _P6)))))
    denominator = _Q0 + y * (_Q1 + y * (_Q2 + y * (_Q3 + y * _Q4)))
    return _HALF + t * numerator / denominator


@compiled_inline
def normal_cdf32(x):
    """Phi(x) in float32, of a number or of lanes, absolute error under 3e-7, clamped to [0, 1]."""
    return at_most(at_least(half_erf32(x * _SQRT_HALF32), _ZERO), _ONE)


# G(x) = max(x, 0) + h(|x|), h(t) = phi(t) - t Phi(-t): a polynomial of degree 14 in s = t/2.5 - 1 on t in [0, 5], interpolated
# at Chebyshev nodes (error 6e-8 exact; the rounding of the sum adds up to 3e-7). Flux stays exact by telescoping whatever h is.
_H = tuple(
    np.float32(c)
    for c in (
        0.00200413718, -0.0155249164, 0.0547763128, -0.114088331, 0.149763845, -0.116206746, 0.0272742094, 0.0462586482,
        -0.0508966428, 0.00777746597, 0.0192591566, -0.00997933402, -0.00263119715, 0.00229214273, -7.86704775e-05,
    )
)  # fmt: skip
_H0, _H1, _H2, _H3, _H4, _H5, _H6, _H7, _H8, _H9, _H10, _H11, _H12, _H13, _H14 = _H
_SCALE = np.float32(0.4)
_FIVE = np.float32(5.0)


@compiled_inline
def ramp_integral32(x):
    """G(x) in float32, of a number or of lanes, absolute error under 4e-7 for |x| < 5 and the rounding of x beyond; for the
    pixel loop only."""
    s = at_most(abs(x), _FIVE) * _SCALE - _ONE
    upper = _H8 + s * (_H9 + s * (_H10 + s * (_H11 + s * (_H12 + s * (_H13 + s * _H14)))))
    h = _H0 + s * (_H1 + s * (_H2 + s * (_H3 + s * (_H4 + s * (_H5 + s * (_H6 + s * (_H7 + s * upper)))))))
    return at_least(x, _ZERO) + h


pixel_share_array = vectorised(pixel_share)
normal_cdf_array = vectorised(normal_cdf)
