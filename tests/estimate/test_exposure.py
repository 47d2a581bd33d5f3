"""What comes past a site: encounters and events a night by weather, hour, month and camera."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from scipy.stats import lognorm, norm

from estimate.nuisance_sites import CAT, INSECT, nuisance_site
from fencecast.estimate.exposure import exposure_of, rate_factors, sun_share, wind_share
from fencecast.estimate.weatherdraws import class_draws, recorded_hours
from fencecast.meteorology.load import classes_of
from fencecast.meteorology.year import HourClass
from kernels.kernel_sites import FENCE, NIGHT
from meteorology.invented_year import invented_year

FOX = {"kind": "fox"}
SIDE = {"name": "side", "points_m": [[40.0, 0.0], [40.0, 30.0]], "inside": "left", "barrier": "palisade"}


def exposure(site):
    return exposure_of(site, classes_of(site))


def mean_activity(found, stimulus: int) -> list[float]:
    return [float(d.weight @ a) for d, a in zip(found.draws, found.activity[stimulus])]


def test_ways_of_animals_go_by_metres():
    """Catches: a share of those that get through (the encounter draws that), metres of another section. Formula by hand."""
    found = exposure(nuisance_site(CAT, {**FOX, "perimeters": ["side"]}, perimeter=(FENCE, SIDE), segment_length_m=10.0))
    assert found.encounters[0] == pytest.approx(np.full(7, 2.0 / math.pi * 50e-6 * 2400.0 * 10.0))
    assert found.encounters[1] == pytest.approx([0.0] * 4 + [2.0 / math.pi * 3e-6 * 9400.0 * 10.0] * 3)


def test_rates_a_night():
    """Catches: a site's rate counted on every section, a rate a metre for one on 100 m."""
    people = {"kind": "people", "per_night": 6.0, "perimeters": ["fence"]}
    bird = {"kind": "bird", "per_night_100m": 3.0}
    found = exposure(nuisance_site(people, bird, perimeter=(FENCE, SIDE), segment_length_m=10.0))
    assert found.encounters[0] == pytest.approx([1.5] * 4 + [0.0] * 3)
    assert found.encounters[1] == pytest.approx(np.full(7, 0.3))


def test_ways_of_a_road_fall_where_it_goes_past():
    """Catches: vehicles by sections that the road does not pass, passes that are lost. By hand: middles at x 5 to 35 m of the
    fence and y 5 m of the side lie beside the road or within 20 m of its end at (30, -5); those at y 15 and 25 m are 22.4 and
    31.6 m away. A road past none is shared by all."""
    road = {"kind": "vehicle", "per_night": 6.0, "at": {"points_m": [[-10.0, -5.0], [0.0, -5.0], [30.0, -5.0]]}}
    far = road | {"name": "far", "at": {"points_m": [[200.0, -5.0], [300.0, -5.0]]}}
    found = exposure(nuisance_site(road, far, perimeter=(FENCE, SIDE), segment_length_m=10.0))
    assert found.encounters[0] == pytest.approx([1.2] * 5 + [0.0] * 2)
    assert found.encounters[1] == pytest.approx(np.full(7, 6.0 / 7.0))


def test_when_a_stimulus_is_about():
    """Catches: an end of a range on the wrong side, kelvin for Celsius, limits that are not joint. By hand: air normal (7, 4),
    wind lognormal (2, 0.5), a third of the rain above 2.5 mm/h; 4,096 draws, hence 0.002."""
    weather = NIGHT | {
        "air_temperature_c": {"dist": "normal", "mean": 7.0, "sd": 4.0},
        "wind_m_s": {"dist": "lognormal", "median": 2.0, "sigma_ln": 0.5},
        "rain_mm_h": {"dist": "choice", "values": [0.0, 0.1, 5.0], "weights": [1, 1, 1]},
    }
    found = exposure(nuisance_site(CAT, INSECT, {"kind": "hedgehog"}, weather=(weather,)))
    warm, calm = 1.0 - norm.cdf((8.0 - 7.0) / 4.0), lognorm(0.5, scale=2.0).cdf(4.0)
    assert mean_activity(found, 0)[0] == pytest.approx(1.0 - 0.33 / 3.0, abs=2e-3)
    assert mean_activity(found, 1)[0] == pytest.approx(warm * calm * 2.0 / 3.0, abs=2e-3)
    assert mean_activity(found, 2)[0] == pytest.approx(1.0 - norm.cdf((5.0 - 7.0) / 4.0), abs=2e-3)


def test_what_the_wind_and_the_sun_move():
    """Catches: a rate that grows without end, one below zero, sun behind closed cloud."""
    assert wind_share(np.array([0.0, 6.0, 9.0, 12.0, 40.0])) == pytest.approx([0.0, 0.0, 0.5, 1.0, 3.0])
    assert sun_share(np.array([400.0, 800.0, 800.0, 800.0, -5.0]), np.array([0.5, 0.2, 0.1, 0.9, 0.5])) == pytest.approx(
        [0.5, 1.0, 0.0, 0.0, 0.0]
    )


def test_cameras_that_see_a_thing():
    """Catches: a camera that looks away, one behind a building, one that no rule listens to, one that the user names."""
    cameras = [
        {"mark": mark, "position_m": at, "height_m": 4.0, "aim_m": aim, "sensor": "core", "lens": "wide"}
        for mark, at, aim in (
            ("sees", [0.0, 2.0], [16.0, 2.0]),
            ("away", [0.0, 2.0], [-16.0, 2.0]),
            ("behind", [30.0, 2.0], [16.0, 2.0]),
            ("idle", [0.0, 2.5], [16.0, 2.5]),
        )
    ]
    hut = {"name": "hut", "footprint_m": [[20.0, 0.0], [23.0, 0.0], [23.0, 4.0], [20.0, 4.0]], "height_m": 6.0}
    branch = {"kind": "branch", "at": {"points_m": [[16.0, 2.0]], "height_m": 2.0}}
    rule = {"kind": "line", "perimeter": "fence", "cameras": ["sees", "away", "behind"]}
    lost = {"kind": "vent", "at": {"points_m": [[-500.0, 900.0]]}, "name": "far vent"}
    named = {"kind": "vent", "at": {"points_m": [[16.0, 2.0]]}, "cameras": ["away"]}
    site = nuisance_site(branch, INSECT, lost, named, camera=cameras, rule=(rule,), obstacle=(hut,))
    found = exposure(site)
    assert found.heard.tolist() == [
        [True, False, False, False], [True, True, True, False], [False] * 4, [False, True, False, False]
    ]  # fmt: skip
    assert found.notes == ("far vent: no camera that a rule listens to has it in its picture",)


def test_what_hours_are_needed_for_is_said_without_them():
    """Catches: months that count all year, weights by the hour that vanish without a word."""
    found = exposure(nuisance_site({"kind": "bat"}, {**CAT, "by_hour": [1.0] * 23 + [2.0]}))
    assert mean_activity(found, 0) == pytest.approx([0.0, 7.0 / 12.0])  # 5 C is too cold for bats, 20 C is not
    assert mean_activity(found, 1) == pytest.approx([1.0, 1.0])
    assert [note.split(":")[0] for note in found.notes] == ["bat", "cat"]
    assert found.night_h == pytest.approx(4000.0 / 365.25)


def test_classes_without_hours_count_alike():
    """Catches: a division by zero where a run asks for a class of 0 hours alone; a night that such a run shortens."""
    site = nuisance_site(CAT, weather=(NIGHT, NIGHT | {"name": "b", "hours_per_year": 0}))
    found = exposure_of(site, classes_of(site)[1:])
    assert found.share.tolist() == [1.0] and found.night_h == pytest.approx(3000.0 / 365.25) and len(found.notes) == 1


def test_what_a_rate_may_be_off_by():
    """Catches: uncertainty added to a rate that has a distribution, parts of a rate that go together, a mean for the median."""
    spread = {"dist": "lognormal", "median": 10.0, "sigma_ln": 0.4}
    dog = {"kind": "dog", "density_km2": spread, "km_per_night": spread | {"median": 2.0}}
    site = nuisance_site(CAT, {**FOX, "density_km2": spread}, dog, INSECT, nuisance={"uncertainty": 2.0})
    factors = exposure(site).factors
    sigmas = np.log(factors).std(axis=0)
    assert sigmas == pytest.approx([math.log(2.0) / 1.96, 0.4, 0.4 * math.sqrt(2.0), math.log(2.0) / 1.96], rel=5e-3)
    assert np.median(factors, axis=0) == pytest.approx(np.ones(4), rel=2e-2)
    assert np.array_equal(rate_factors(exposure(site).stimuli[:2]), factors[:, :2])


def test_a_stimulus_more_moves_no_other():
    """Both parts of a dog's rate are spread. Catches: draws of a second part whose place goes by the number of stimuli."""
    spread = {"dist": "lognormal", "median": 10.0, "sigma_ln": 0.4}
    dog = {"kind": "dog", "density_km2": spread, "km_per_night": spread | {"median": 2.0}}
    few, more = (exposure(nuisance_site(CAT, dog, *others)).factors for others in ((), (FOX,)))
    assert np.array_equal(few, more[:, :2])


def hour_classes(year):
    warm = year.states.air_temperature_c > np.median(year.states.air_temperature_c)
    counted = year.counted[year.states.hour]
    return tuple(
        HourClass(name, 1000.0, year.states.take(chosen & counted)) for name, chosen in (("cold", ~warm), ("warm", warm))
    )


def test_hours_of_a_record():
    """Catches: clock hours of UTC for those of the record, nights cut at midnight, hours that are not armed in the mean of
    weights by the hour. Counted in plain Python."""
    year = invented_year(hours=24 * 60)
    site = nuisance_site({**CAT, "by_hour": [0.0] * 18 + [1.0, 1.0, 5.0, 1.0, 1.0, 1.0], "months": [1]})
    found = exposure_of(site, hour_classes(year), year)
    hours = found.hours
    assert hours.clock[:30].tolist() == [*range(24), *range(6)] and set(hours.month[: 31 * 24]) == {1} and hours.month[-1] == 3
    nights = [hours.night[hours.armed & (np.arange(len(hours.clock)) // 24 == d)] for d in range(60)]
    assert all(set(night[-6:]) == {night[0] + 1} for night in nights)  # 18 to 24 go with the next morning
    armed = np.flatnonzero(hours.armed)
    weights = np.array([site.stimulus[0].by_hour[h % 24] for h in armed])
    draws, about = found.draws[0], found.activity[0][0]
    for k in range(0, len(draws.hour), 37):
        hour = int(draws.hour[k])
        rain = 0.67 if draws.values["rain_mm_h"][k] >= 2.5 else 1.0
        wanted = site.stimulus[0].by_hour[hour % 24] / weights.mean() * (hour < 31 * 24) * rain
        assert about[k] == pytest.approx(wanted)
    assert found.night_h == pytest.approx(len(armed) / len({(h + 12) // 24 for h in armed}))


def test_hours_that_are_left_out_do_not_shorten_the_night():
    """Catches: a night as long as the hours of one class, which would make sensor noise rarer and the operator idle."""
    year = invented_year(hours=24 * 30)
    classes = hour_classes(year)
    site = nuisance_site(CAT)
    part = replace(year, armed=year.armed & np.isin(np.arange(len(year.armed)), classes[0].states.hour))
    alone = exposure_of(site, classes[:1], part, year)
    assert alone.night_h == exposure_of(site, classes, year).night_h
    assert 0 < np.count_nonzero(alone.hours.counted) < np.count_nonzero(year.counted)


def test_clutter_of_hours_may_be_given():
    """Catches: clutter of the rules where the user gave one, a factor that is left out."""
    year = invented_year(hours=24 * 10)
    site = nuisance_site(INSECT, decision={"clutter_factor": 2.0})
    found = class_draws(site, hour_classes(year))[0]
    assert found.values["clutter_k"] == pytest.approx(2.0 * hour_classes(year)[0].states.clutter_k)
    assert recorded_hours(site, year, year.counted).solar_w_m2[year.counted].min() >= 0.0
