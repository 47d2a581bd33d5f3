"""Blurred rectangles on pixels and the noise, against an astronomical image library, a special-function library and
quadrature."""

from __future__ import annotations

import math

import galsim
import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import quad
from scipy.special import ndtr

from fencecast.physics import detector
from fencecast.physics.radiance import band_radiance_slope
from physics.imagelibrary import TIGHT


def drawn_by_image_library(edges, blur_u, blur_v, columns, rows):
    """Box * Gaussian integrated over pixels, (rows, columns); edges u from, u to, v from, v to [px]."""
    u0, u1, v0, v1 = edges
    box = galsim.Box(u1 - u0, v1 - v0, gsparams=TIGHT)
    blur = galsim.Gaussian(sigma=1.0, gsparams=TIGHT).transform(blur_u, 0.0, 0.0, blur_v).withFlux(1.0)
    profile = galsim.Convolve([box, blur], gsparams=TIGHT).withFlux((u1 - u0) * (v1 - v0))
    image = galsim.ImageD(columns, rows)
    # The library numbers pixel centres from 1, so that pixel 0 of ours covers [0.5, 1.5) of its frame.
    centre = galsim.PositionD(0.5 * (u0 + u1) + 0.5, 0.5 * (v0 + v1) + 0.5)
    profile.drawImage(image=image, scale=1.0, method="auto", center=centre)
    return image.array


def test_blurred_box_against_an_image_library():
    """Catches a half-pixel shift, a blur that is not the sd, shares that are point samples. Source: GalSim, Box * Gaussian *
    Pixel, random places, sizes and unequal blurs. 1e-6 of the peak: what the library was asked for, with room."""
    random = np.random.default_rng(31)
    for _ in range(40):
        width, height = np.exp(random.uniform(np.log(0.05), np.log(18.0), 2))
        u0, v0 = random.uniform(6.0, 14.0, 2)
        blur_u, blur_v = random.uniform(0.3, 2.0, 2)
        theirs = drawn_by_image_library((u0, u0 + width, v0, v0 + height), blur_u, blur_v, 40, 44)
        across = detector.pixel_share_array(np.arange(40.0), u0, u0 + width, blur_u)
        upright = detector.pixel_share_array(np.arange(44.0), v0, v0 + height, blur_v)
        assert np.outer(upright, across) == pytest.approx(theirs, abs=1e-6 * theirs.max())


@given(st.floats(-3.0, 3.0), st.floats(0.01, 60.0), st.floats(0.2, 3.0))
def test_flux_is_conserved_at_any_phase_and_size(low, width, blur):
    """Catches a share that is lost at an edge. Conservation: shares of all pixels add up to the interval's length; 1e-11 is the
    rounding of about a hundred terms of size up to 60."""
    shares = detector.pixel_share_array(np.arange(-40.0, 110.0), low, low + width, blur)
    assert shares.sum() == pytest.approx(width, abs=1e-11)
    assert shares.min() > -1e-12
    assert shares.max() < 1.0 + 1e-12


def test_a_sharp_interval_covers_pixels_by_overlap():
    """Catches intervals of the wrong side. Limit: no blur left, plain overlap."""
    shares = detector.pixel_share_array(np.arange(8.0), 2.25, 5.5, 1e-6)
    assert shares == pytest.approx([0.0, 0.0, 0.75, 1.0, 1.0, 0.5, 0.0, 0.0], abs=1e-5)


def test_normal_distribution_against_a_special_function_library():
    """Catches a wrong tail. Source: scipy.special.ndtr, relative 1e-12 down to 1e-300."""
    x = np.linspace(-37.0, 9.0, 2001)
    assert detector.normal_cdf_array(x) == pytest.approx(ndtr(x), rel=1e-12, abs=0.0)


def test_ramp_is_the_integral_of_the_normal_distribution():
    """Catches a G that is not the integral of Phi. Source: numerical quadrature of scipy's ndtr."""
    for x in (-6.0, -2.5, -0.3, 0.0, 0.7, 3.0, 8.0):
        area, _ = quad(ndtr, -40.0, x, points=[min(x, 0.0)], epsabs=1e-13, limit=200)
        assert detector.ramp_integral(x) == pytest.approx(area, abs=1e-11)


def test_fast_normal_distribution():
    """Catches a tail that adds up over many pixels, a value outside [0, 1]. Source: scipy.special.ndtr over the whole range.
    3e-7: the documented error, five roundings of numbers near 1 in float32."""
    x = np.concatenate([np.linspace(-9.0, 9.0, 60001), np.linspace(-200.0, 200.0, 4001), [-1e30, 1e30]]).astype(np.float32)
    found = np.array([detector.normal_cdf32(v) for v in x])
    assert np.abs(found - ndtr(x.astype(float))).max() < 3e-7
    assert found.min() >= 0.0
    assert found.max() <= 1.0
    # a thousand pixels of nothing at a threshold of 6 or more must not make a hit
    assert found[x < -6.0].max() < 1e-7


def test_fast_ramp():
    """Catches a polynomial off its interval. Source: x Phi(x) + phi(x) with scipy's Phi. 4e-7: the fit, and half a unit in the
    last place of values up to 5; beyond, the rounding of the value itself."""
    x = np.concatenate([np.linspace(-9.0, 9.0, 60001), np.linspace(-500.0, 500.0, 4001)]).astype(np.float32)
    found = np.array([detector.ramp_integral32(v) for v in x])
    exact = x.astype(float)
    exact = exact * ndtr(exact) + np.exp(-0.5 * exact * exact) / math.sqrt(2.0 * math.pi)
    inside = np.abs(x) < 5.0
    assert np.abs(found - exact)[inside].max() < 4e-7
    assert (np.abs(found - exact)[~inside] <= 1e-7 + np.spacing(np.abs(x[~inside]))).all()


def test_fast_functions_compiled_and_plain_agree():
    """Catches a compiled form that computes something else than its source (a reordering that loses digits). One unit in the
    last place of the largest intermediate value, times a few operations."""
    for x in np.linspace(-7.0, 7.0, 301).astype(np.float32):
        assert detector.normal_cdf32(x) == pytest.approx(float(detector.normal_cdf32.py_func(x)), abs=5e-7)
        assert detector.ramp_integral32(x) == pytest.approx(float(detector.ramp_integral32.py_func(x)), abs=1e-6)


def test_noise_of_a_camera_with_its_lens():
    """Catches a NETD in millikelvin, a lens that is counted twice. Source: the definition, NETD times dL/dT at 300 K, with the
    model's printed dL/dT(300 K) = 0.83782 W/(m²·sr·K)."""
    slope = band_radiance_slope(300.0, 8.0, 14.0)
    assert detector.temporal_noise_radiance(0.050, slope, 1.4, 0.0, 0.8) == pytest.approx(0.050 * 0.83782, rel=1e-5)


def test_noise_scaled_to_another_lens_by_hand():
    """Catches a ratio turned over, a transmission that helps. Source: a detector's signal goes as 1 / (4 F^2 + 1): from F/1.0 to
    F/2.0 it falls 17 / 5, and a lens that passes 0.8 takes another 1 / 0.8."""
    assert detector.temporal_noise_radiance(0.040, 1.0, 2.0, 1.0, 0.8) == pytest.approx(0.040 * 17.0 / 5.0 / 0.8, rel=1e-12)
    assert detector.temporal_noise_radiance(0.040, 1.0, 1.0, 1.0, 1.0) == pytest.approx(0.040, rel=1e-12)
