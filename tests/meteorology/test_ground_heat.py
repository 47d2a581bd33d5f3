"""The force-restore ground against closed forms, a root finder, and conservation.

Against a conducting slab: `evidence.ground.ground_slab`."""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy.optimize import brentq

from fencecast.meteorology.hours import make_year
from fencecast.meteorology.sky import solar_w_m2
from fencecast.physics import ground_heat as heat
from fencecast.physics import ground_history as history
from fencecast.physics.sky import sky_history
from meteorology.records.hourly_records import december_days, june_days, saturation_hpa, site_on

DAY = 86_400.0
FREQUENCY = 2.0 * math.pi / DAY


def drive(records, sun, *, clouds=(0.0,), rain=0.0, snow=0.0, lying=np.nan):
    """What `ground_history` takes of a record, before material, start, spin-up and steps."""
    air_k = records.values["air_temperature_c"] + 273.15
    hours = len(air_k)
    cloud = np.stack([np.broadcast_to(each, hours) for each in clouds]).astype(float)
    sky, _, vapour = sky_history(air_k, records.values["relative_humidity"], cloud)
    spread = [np.broadcast_to(np.asarray(each, dtype=float), hours).copy() for each in (rain, snow, lying)]
    sun_w_m2 = solar_w_m2(records.values["ghi_w_m2"], sun, cloud)
    return (air_k, vapour, records.values["wind_m_s"], np.full(hours, 1013.25), *spread, sun_w_m2, sky)


def run(driven, ground="asphalt", start_k=None, spin_up=0, steps=10):
    """`ground_history` on a material, from the mean air of the record unless told otherwise."""
    start_k = float(driven[0].mean()) if start_k is None else start_k
    return history.ground_history(*driven, heat.MATERIALS[ground], heat.MATERIALS["snow"], start_k, spin_up, steps)


def wave(inertia, step_s, days=30):
    """Amplitude [K] and lag [h] of the surface under a daily wave of 100 W/m2, by stepping the model; last day."""
    steps = round(DAY / step_s)
    time = np.arange(1, steps * days + 1) * step_s
    surface, k = np.zeros(len(time)), 0.0
    for n, given in enumerate(100.0 * np.cos(FREQUENCY * time)):
        k = heat.restored_surface_k(k, 0.0, given, 0.0, k, inertia, step_s)
        surface[n] = k
    last = slice(-steps, None)
    even = 2.0 * np.mean(surface[last] * np.cos(FREQUENCY * time[last]))
    odd = 2.0 * np.mean(surface[last] * np.sin(FREQUENCY * time[last]))
    return math.hypot(even, odd), math.atan2(odd, even) / FREQUENCY / 3600.0


@pytest.mark.parametrize("inertia", [350.0, 1205.0, 1785.0])
def test_daily_wave_is_that_of_a_half_space(inertia):
    """Catches: a wrong coefficient or sign of force or restore. Closed form (Carslaw and Jaeger): a daily wave G of heat into a
    half space moves its surface by G / (I sqrt(omega)), an eighth of a day later. Tolerance: steps of 20 s, first order in the
    step."""
    amplitude, lag = wave(inertia, 20.0)
    assert amplitude == pytest.approx(100.0 / (inertia * math.sqrt(FREQUENCY)), rel=1e-3)
    assert lag == pytest.approx(3.0, abs=0.01)


def test_daily_wave_of_asphalt():
    """Catches: another inertia in the table, steps too long. 9.73 K and 3.0 h for asphalt; six-minute steps lose 0.7 %."""
    amplitude, lag = wave(heat.MATERIALS["asphalt"].inertia, 360.0)
    assert amplitude == pytest.approx(9.73, rel=0.01)
    assert lag == pytest.approx(3.0, abs=0.05)


def test_slow_layer_takes_a_year_to_a_depth():
    """Catches: days for seconds in the slow layer. Deardorff (1978): heat capacity per area I sqrt(365 days); 10 W/m2 for 30
    days."""
    warmed = heat.restored_deep_k(280.0, 10.0, 1205.0, 30 * DAY) - 280.0
    assert warmed == pytest.approx(10.0 * 30 * DAY / (1205.0 * math.sqrt(365 * DAY)))


def test_exchange_over_short_grass_is_fao_56():
    """Catches: wrong roughness, height of wind, log of the wrong ratio. Source: FAO-56, box 4: r_a = 208 / u2. Tolerance 8 %: k
    = 0.40 for 0.41 (5 %), no displacement (3 %)."""
    for wind in (1.0, 3.0, 8.0):
        at_2_m = wind * math.log(2.0 / 0.015) / math.log(10.0 / 0.015)
        exchange = heat.air_exchange_m_s(285.0, 285.0, wind, 0.015) - heat.WINDLESS_M_S
        assert 1.0 / exchange == pytest.approx(208.0 / at_2_m, rel=0.08)


def test_exchange_over_asphalt_is_that_of_pavement_models():
    """Catches: an exchange off by its order of magnitude. Source: Vehrencamp and Dempsey's formula of pavement models, from
    memory, 698.24 (1.44e-3 T_m^0.3 U^0.7 + 9.7e-4 (T_s - T_air)^0.3) W/m2K with T_m in kelvin; a factor of 1.6 either way, as
    such formulas differ among themselves."""
    for wind in (2.0, 4.0, 6.0):
        theirs = 698.24 * (1.44e-3 * 305.0**0.3 * wind**0.7 + 9.7e-4 * 20.0**0.3)
        ours = 1.16 * 1005.0 * heat.air_exchange_m_s(315.0, 295.0, wind, heat.MATERIALS["asphalt"].roughness_m)
        assert theirs / 1.6 < ours < theirs * 1.6


def test_exchange_by_stability():
    """Catches: stable and unstable the wrong way round, an exchange that dies. Warm ground stirs, cold ground calms; still air
    keeps the 2 W/m2K of Jordan (1991); in a gale stability does not matter."""
    cold, even, warm = (heat.air_exchange_m_s(surface, 285.0, 1.5, 0.015) for surface in (278.0, 285.0, 292.0))
    assert cold < 0.5 * even < even < 0.8 * warm
    assert 1.29 * 1005.0 * heat.air_exchange_m_s(265.0, 280.0, 0.0, 0.002) == pytest.approx(2.0, rel=0.1)
    gale = [heat.air_exchange_m_s(surface, 285.0, 25.0, 0.015) for surface in (280.0, 285.0, 290.0)]
    assert max(gale) < 1.1 * min(gale)


def net_heat(surface_k, air_c, humidity, wind, sun, sky, ground, wet):
    """The balance written again, in plain Python, with Bolton's vapour pressure; W/m2 into the ground."""
    surface = heat.MATERIALS[ground]
    u2 = wind * math.log(2.0 / surface.roughness_m) / math.log(10.0 / surface.roughness_m)
    richardson = 9.81 * 2.0 * (air_c + 273.15 - surface_k) / ((air_c + 273.15) * u2**2)
    neutral = 0.16 / (math.log(2.0 / surface.roughness_m) * math.log(20.0 / surface.roughness_m))
    if richardson > 0.0:
        stirred = (1.0 + 4.7 * richardson) ** -2
    else:
        stirred = 1.0 - 9.4 * richardson / (1.0 + 49.82 * neutral * math.sqrt(-richardson * 2.0 / surface.roughness_m))
    exchange = neutral * u2 * stirred + 0.00155
    density = 101_325.0 / (287.05 * (air_c + 273.15))
    excess = saturation_hpa(surface_k - 273.15) - humidity * saturation_hpa(air_c)
    dry = exchange / (1.0 + surface.resistance_day_s_m * exchange)
    vapour = exchange if excess < 0.0 else wet * exchange + (1.0 - wet) * dry
    evaporates = density * 2.5e6 * 0.622 / 1013.25 * vapour * excess
    lost = surface.emissivity * (5.670374e-8 * surface_k**4 - sky) + density * 1005.0 * exchange * (surface_k - 273.15 - air_c)
    return (1.0 - surface.albedo) * sun - lost - evaporates


@pytest.mark.parametrize("ground", ["asphalt", "concrete", "grass", "soil"])
@pytest.mark.parametrize(("sun", "sky", "wind"), [(0.0, 250.0, 2.0), (700.0, 330.0, 3.0), (200.0, 380.0, 6.0)])
def test_balance_in_steady_weather(ground, sun, sky, wind):
    """Catches: a flux with a wrong sign or factor, rounds that stop early. Ninety days of the same weather must end where a
    balance written apart has its root (0.03 K: vapour pressures of Magnus and Bolton, and what is left of the start, 1 K off)."""
    hours = 24 * 90
    air_c, humidity = 12.0, 0.5
    air = (air_c + 273.15, humidity * saturation_hpa(air_c), wind, 1013.25, 0.0, 0.0, np.nan)
    root = brentq(lambda k: net_heat(k, air_c, humidity, wind, sun, sky, ground, 0.0), 230.0, 360.0)
    driven = (*(np.full(hours, each) for each in air), np.full((1, hours), sun), np.full((1, hours), sky))
    ends = run(driven, ground, start_k=root + 1.0)[0][0, -1]
    assert ends == pytest.approx(root, abs=0.03)


@pytest.mark.parametrize("ground", ["asphalt", "grass", "snow"])
def test_history_does_not_hang_on_the_step(ground):
    """Catches: explicit terms that need short steps. 6-minute steps against half-minute ones, over a day of June and of December;
    0.4 K because backward Euler is of first order and snow and grass follow within the hour."""
    for days in (june_days, december_days):
        driven = drive(*days(4))
        coarse, fine = (run(driven, ground, steps=steps)[0] for steps in (10, 120))
        assert np.abs(coarse - fine).max() < 0.4


@pytest.mark.parametrize("ground", ["asphalt", "grass"])
def test_history_keeps_its_energy(ground):
    """Catches: heat of melting or of the slow layer booked twice or not at all. With snowfall, thaw, rain and dew: fluxes add
    up in every hour, and the heat stored over all hours is what the slow layer's warming takes, I sqrt(365 days) dT2 (closed,
    1e-9)."""
    records, sun = december_days(12)
    snow = np.where(np.arange(288) % 60 < 6, 1.5, 0.0)
    rain = np.where(np.arange(288) % 90 > 84, 1.0, 0.0)
    driven = drive(records, sun, clouds=(0.0, 0.6, 1.0), snow=snow, rain=rain)
    start = float(driven[0].mean())
    _, _, cover, flux, slow = run(driven, ground, start_k=start)
    gained = flux[..., history.SOLAR] + flux[..., history.LONGWAVE] - flux[..., history.SENSIBLE] - flux[..., history.LATENT]
    assert gained == pytest.approx(flux[..., history.MELT] + flux[..., history.STORED], abs=1e-6)
    assert flux[..., history.MELT].max() > 5.0
    assert cover.max() > 0.999
    capacity = heat.MATERIALS[ground].inertia * math.sqrt(365 * DAY)
    stored = flux[..., history.STORED].mean(axis=0).sum() * 3600.0
    assert stored == pytest.approx(capacity * (slow[-1] - start), rel=1e-9, abs=1.0)


def test_history_of_lying_snow():
    """Catches: snow that warms past its melting point, vanishes for nothing, or is not seen. Ten millimetres of water need 3.34
    MJ/m2 to melt; until then the surface stays at 0 C at most, while bare ground would be warm."""
    records, sun = june_days(3)
    snow = np.zeros(72)
    snow[0] = 10.0
    driven = drive(records, sun, snow=snow)
    surface, _, cover, flux, _ = run(driven, "asphalt", start_k=272.0)
    gone = int(np.argmax(cover[0] == 0.0))
    assert 3 < gone < 40
    assert surface[0, cover[0] > 0.999].max() <= 273.15 + 1e-9
    # Frost and dew add to it; the last hour, when the ground looks through, is not counted apart: 5 %.
    settled = -flux[0, :gone, history.LATENT].sum() * 3600.0 / heat.VAPORISATION_J_KG
    assert flux[0, :, history.MELT].sum() * 3600.0 == pytest.approx((10.0 + settled) * heat.FUSION_J_KG, rel=0.05)
    assert surface[0, 60] > 283.0
    given = drive(records, sun, lying=np.full(72, 40.0))
    assert run(given)[0].max() <= 273.15 + 1e-9


def test_history_of_wet_ground():
    """Catches: water that does not evaporate, that never dries, or that runs backwards. Rain of the morning cools asphalt for
    hours and has gone by the evening; what evaporates after it is what stays, 1 mm (0.06: the last step of rain, and the last
    film)."""
    records, sun = june_days(2)
    rain = np.zeros(48)
    rain[30:32] = 2.0
    dry, wet = (run(drive(records, sun, rain=each), "asphalt") for each in (0.0, rain))
    assert (dry[0] - wet[0])[0, 33] > 3.0
    assert wet[1][0, 31] > 0.9
    assert wet[1][0, 44] < 0.05
    evaporated = np.maximum(wet[3][0, 32:, history.LATENT], 0.0).sum() * 3600.0 / heat.VAPORISATION_J_KG
    assert evaporated == pytest.approx(1.0, abs=0.06)


def test_dew_settles_on_clear_damp_nights_only():
    """Catches: dew by day, in wind from dry air, or never. Grass at 95 % by night is wet by morning; in dry air it is not."""
    records, sun = december_days(3)
    driven = list(drive(records, sun))
    damp = list(driven)
    damp[1] = 0.95 * saturation_hpa(records.values["air_temperature_c"])
    before_sunrise = 54
    assert run(tuple(damp), "grass")[1][0, before_sunrise] > 0.3
    _, wet, _, flux, _ = run(tuple(damp), "grass")
    settled = np.cumsum(-flux[0, :7, history.LATENT]) * 3600.0 / heat.VAPORISATION_J_KG  # mm by the end of each hour
    assert settled[6] > 0.05
    # What is on the grass is what settled, by the rule of wet shares: the mean of an hour lies between those of its ends.
    assert heat.wet_share(settled[5], 1.0) <= wet[0, 6] <= heat.wet_share(settled[6], 1.0)
    driven[1] = 0.3 * saturation_hpa(records.values["air_temperature_c"])
    assert run(tuple(driven), "grass")[1][0, before_sunrise] == 0.0


def test_histories_share_the_slow_layer_only():
    """Catches: scenarios that leak into each other within hours, or drift apart over weeks. Three equal skies are one; a clear
    sky beside a closed one keeps its own nights, and both lie between the two run alone."""
    records, sun = june_days(20)
    alone = [run(drive(records, sun, clouds=(cloud,)), "asphalt")[0][0] for cloud in (0.0, 1.0)]
    same = run(drive(records, sun, clouds=(0.0, 0.0, 0.0)), "asphalt")[0]
    assert same == pytest.approx(np.broadcast_to(alone[0], same.shape), abs=1e-9)
    clear, closed = run(drive(records, sun, clouds=(0.0, 1.0)), "asphalt")[0]
    noon = -12
    assert alone[0][noon] > clear[noon] > closed[noon] > alone[1][noon]
    assert clear[noon] - closed[noon] > 0.6 * (alone[0][noon] - alone[1][noon])


def contrast_of(ground, days):
    """A walker's contrast [K] over the last two days of fair weather, and whether the sun is up."""
    records, sun = days(20)
    year = make_year(records, site_on(ground), np.ones(len(sun), dtype=bool), sun)
    return year.middle["contrast_k"], sun > 0.0


@pytest.mark.parametrize("ground", ["asphalt", "concrete", "gravel", "soil", "grass"])
def test_crossovers_with_a_walker(ground):
    """Catches: ground that stays cold by day or warm by night. At 50 N a walker's contrast changes sign twice on a clear day of
    June (warmer than the ground by night, colder by day), and never in a clear night of December."""
    contrast, _ = contrast_of(ground, june_days)
    day = contrast[-30:-6]  # from 18:00, before the evening crossover, to 18:00
    assert np.sum(np.diff(np.sign(day)) != 0) == 2
    contrast, up = contrast_of(ground, december_days)
    assert contrast[~up].min() > 1.0


def test_hours_near_crossover_over_grass_and_asphalt():
    """Catches: materials that behave alike. By day asphalt runs through the crossover and grass lingers near it, so grass has
    more hours within 2 K; by night asphalt gives its heat back and stays near a walker's clothing, while grass turns cold."""
    (grass, up), (asphalt, _) = (contrast_of(ground, june_days) for ground in ("grass", "asphalt"))
    assert np.sum(np.abs(grass[up]) < 2.0) > np.sum(np.abs(asphalt[up]) < 2.0)
    assert np.sum(np.abs(grass[~up]) < 2.0) < np.sum(np.abs(asphalt[~up]) < 2.0)
