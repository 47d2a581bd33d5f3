"""Coats, legs and vehicles against values worked out apart from the code, and against measured animals."""

from __future__ import annotations

import math

import numpy as np
import pytest

from fencecast.kernels import state
from fencecast.kernels.types import Bands
from fencecast.physics import coat
from fencecast.physics.radiance import band_radiance, band_radiance_slope
from fencecast.physics.surfaces import GROUND_EMISSIVITY, leaving_radiance, upright_environment_radiance
from fencecast.units import ZERO_CELSIUS_K

AIR_K = ZERO_CELSIUS_K + 7.0
BAND_UM = (8.0, 14.0)

# Coat [m2K/W], speed [m/s], legs [m2K/W]; coat minus air [K], contrast over gravel [K of the 300 K slope], legs minus air [K].
ANIMALS = {
    "hedgehog": (0.35, 0.25, 0.15, 2.02, 3.87, 8.40),
    "cat": (0.27, 0.80, 0.15, 2.80, 4.51, 8.22),
    "fox": (0.70, 1.20, 0.15, 0.44, 2.60, 8.01),
    "dog": (0.25, 1.50, 0.12, 2.93, 4.61, 9.19),
    "roe deer": (0.65, 1.20, 0.15, 0.56, 2.70, 8.01),
    "boar": (0.45, 1.20, 0.12, 1.29, 3.28, 9.39),
}


def coat_of(coat_m2k_w, speed_m_s, wetness=0.0):
    return coat.coat_temperature_k(AIR_K, 0.78, 2.0, speed_m_s, coat_m2k_w, 0.965, wetness, AIR_K - 2.5, AIR_K - 10.0)


@pytest.mark.parametrize("animal", ANIMALS)
def test_coats_and_legs_of_a_cool_night(animal):
    """Catches clothing's own insulation or area in an animal's coat, a skin as cool as a person's, wind or speed left out.
    Source: the balance solved with another program: 7 C, ground -2.5 K, low sky -10 K, wind 2 m/s, dry. 0.01 K is its print."""
    coat_m2k_w, speed, leg_m2k_w, above_air, contrast, legs_above = ANIMALS[animal]
    outside = coat_of(coat_m2k_w, speed)
    assert outside - AIR_K == pytest.approx(above_air, abs=0.01)
    sky = band_radiance(AIR_K - 10.0, *BAND_UM)
    ground = leaving_radiance(GROUND_EMISSIVITY["gravel"], band_radiance(AIR_K - 2.5, *BAND_UM), sky)
    seen = leaving_radiance(0.965, band_radiance(outside, *BAND_UM), upright_environment_radiance(ground, sky))
    assert (seen - ground) / band_radiance_slope(300.0, *BAND_UM) == pytest.approx(contrast, abs=0.01)
    legs = coat.leg_temperature_k(AIR_K, math.hypot(2.0, speed), leg_m2k_w)
    assert legs - AIR_K == pytest.approx(legs_above, abs=0.01)


@pytest.mark.parametrize(("celsius", "above_air"), [(0.0, 5.60), (-10.0, 7.34), (-20.0, 9.06)])
def test_coats_of_deer_in_still_air(celsius, above_air):
    """Catches a coat that follows the air alone. Source: trunks of penned deer in winter 6-8 K above air, more as air gets
    colder (Moen 1968, abstract); the values, for 0.6 m2K/W and surroundings at air temperature, another program's."""
    air = ZERO_CELSIUS_K + celsius
    found = coat.coat_temperature_k(air, 0.78, 0.0, 0.0, 0.6, 0.97, 0.0, air, air) - air
    assert found == pytest.approx(above_air, abs=0.01)
    assert 5.0 < found < 10.0


def test_legs_never_freeze_and_follow_the_wind():
    """Catches legs colder than measured foxes keep them (Klir & Heath 1992, abstract: above freezing at -25 C), and a floor that
    is always on."""
    assert coat.leg_temperature_k(ZERO_CELSIUS_K - 25.0, 0.5, 0.15) == ZERO_CELSIUS_K + 1.0
    calm, windy = (coat.leg_temperature_k(AIR_K, wind, 0.15) for wind in (0.0, 8.0))
    assert ZERO_CELSIUS_K + 1.0 < windy < calm < ZERO_CELSIUS_K + 37.0


def test_wet_fur_is_cooler_and_sheds_most_water():
    """Catches wetness left out, and fur as wet as cloth. Source: 0.3 of the weather's wetness, by hand."""
    assert coat.fur_wetness(0.5) == pytest.approx(0.15, rel=1e-12)
    dry, wet = coat_of(0.27, 0.8), coat_of(0.27, 0.8, wetness=1.0)
    halved = coat_of(0.135, 0.8)
    assert wet < halved  # half of the insulation warms, evaporation cools
    assert abs(wet - dry) > 0.5


def test_surfaces_of_an_animal_are_in_their_columns():
    """Catches coat and legs exchanged, a wet emissivity of cloth, a head without skin. Source: the surfaces' law by hand."""
    bands = Bands(np.array([8.0]), np.array([14.0]), np.array([1.0]))
    air = state.Air(AIR_K, AIR_K - 2.5, AIR_K - 10.0, 0.8, 2.0, 6.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.1, 1.0, 1.0, 4.0)
    table = np.zeros((1, state.RADIANCES))
    state.fill_body_radiances.py_func(table, bands, air, 0.93, AIR_K + 2.0, AIR_K + 20.0, AIR_K + 8.0, 0.95, 0.15)
    sky = band_radiance(AIR_K - 10.0, *BAND_UM)
    ground = leaving_radiance(0.93, band_radiance(AIR_K - 2.5, *BAND_UM), sky)
    around = 0.5 * ground + 0.5 * sky
    wet = 0.95 + 0.3 * (0.96 - 0.95)
    cover, legs = (leaving_radiance(wet, band_radiance(AIR_K + above, *BAND_UM), around) for above in (2.0, 8.0))
    skin = leaving_radiance(0.98, band_radiance(AIR_K + 20.0, *BAND_UM), around)
    row = table[0]
    assert row[[state.CLOTHING, state.LEGS]] == pytest.approx([cover, legs], rel=1e-12)
    assert row[state.HEAD] == pytest.approx(0.15 * skin + 0.85 * cover, rel=1e-12)
    assert row[[state.GROUND, state.AIR]] == pytest.approx([ground, band_radiance(AIR_K, *BAND_UM)], rel=1e-12)
