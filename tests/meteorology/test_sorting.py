"""Hours sorted into classes: the limits of their published sources, the order of rules, and no hour lost or counted twice."""

from dataclasses import replace

import numpy as np
import pytest

from fencecast.meteorology.sorting import CROSSOVER_K, NAMES, RULES, class_of_hours, sort_hours
from fencecast.meteorology.year import Year
from meteorology.invented_weather import CAP_M, year

HARMLESS = {"visibility_m": 20_000.0, "rain_mm_h": 0.0, "snow_mm_h": 0.0, "contrast_k": 4.0, "fog_share": 0.0}


def one_hour(cap_m=None, **changes) -> Year:
    """The first hour of an invented year, harmless but for the changes."""
    base = year(days=2, armed="all", harmless=True)
    middle = dict(base.middle)
    for name, value in (HARMLESS | changes).items():
        middle[name] = np.concatenate([[value], middle[name][1:]])
    return replace(base, middle=middle, records=replace(base.records, visibility_cap_m=cap_m))


def class_of(**changes) -> str:
    return NAMES[class_of_hours(one_hour(**changes))[0]]


@pytest.mark.parametrize(
    ("metres", "name"),
    [
        (199.0, "dense fog"),  # thick fog, below 200 m: UK Met Office, Fact sheet 3
        (200.0, "fog"),
        (999.0, "fog"),  # fog below 1 km: WMO-No. 49, ICAO Annex 3
        (1000.0, "mist"),
        (4999.0, "mist"),  # mist and haze from 1 to 5 km: ICAO Annex 3
        (5000.0, "haze"),
        (9999.0, "haze"),
        (10_000.0, "clear"),  # clear from 10 km: international visibility code, from memory
        (40_000.0, "clear"),
        (np.nan, "clear"),  # a range that is not known makes no fog
    ],
)
def test_optical_ranges(metres, name):
    """Catches: a limit in other units, or on its wrong side."""
    assert class_of(visibility_m=metres) == name


@pytest.mark.parametrize(
    ("rate", "name"),
    [
        (0.1, "drizzle"),
        (0.49, "drizzle"),  # drizzle does not pass 0.5 mm/h: AMS Glossary
        (0.5, "rain"),
        (7.6, "rain"),
        (7.7, "heavy rain"),  # heavy over 0.30 in/h: AMS Glossary
    ],
)
def test_rain_rates(rate, name):
    assert class_of(rain_mm_h=rate) == name
    # Rain takes its own toll of the visibility: that is not fog.
    assert class_of(rain_mm_h=rate, visibility_m=900.0) == name


def test_what_hides_comes_before_what_dims():
    """Catches: rules in another order."""
    everything = {"visibility_m": 150.0, "rain_mm_h": 0.2, "contrast_k": 0.1, "fog_share": 0.9}
    assert class_of(**everything) == "dense fog"
    assert class_of(**everything | {"visibility_m": 600.0}) == "fog"
    assert class_of(**everything | {"fog_share": 0.4}) == "drizzle"
    assert class_of(**everything | {"visibility_m": 3000.0}) == "drizzle"
    assert class_of(rain_mm_h=1.0, snow_mm_h=1.0) == "snow"
    assert class_of(rain_mm_h=1.0, snow_mm_h=0.9) == "rain"
    assert class_of(visibility_m=3000.0, contrast_k=-0.5 * CROSSOVER_K) == "near crossover"
    assert class_of(visibility_m=3000.0, contrast_k=-CROSSOVER_K) == "mist"
    assert class_of(contrast_k=np.nan) == "clear"


def test_a_range_at_the_station_s_cap_is_no_haze():
    """Catches: '8 km or more' read as 8 km."""
    assert class_of(cap_m=8000.0, visibility_m=8000.0) == "clear"
    assert class_of(cap_m=8000.0, visibility_m=7000.0) == "haze"


def test_reports_on_a_limit_stay_on_their_side_of_it():
    """Catches: 1,000 m turned into fog, or 10 miles into haze, by the last bit of a change of units or of a mean."""
    below = 1.0 - 2e-16 * np.array([1, 4, 16])
    for share in below:
        assert class_of(visibility_m=200.0 * share) == "fog"
        assert class_of(visibility_m=1000.0 * share) == "mist"
        assert class_of(rain_mm_h=0.5 * share) == "rain"
        assert class_of(rain_mm_h=7.6 / share) == "rain"
        assert class_of(cap_m=5 * 1609.344, visibility_m=5 * 1609.344 * share) == "clear"
    assert class_of(visibility_m=999.0) == "fog"


@pytest.mark.parametrize("changes", [{}, {"gap_days": 3}, {"armed": "all"}, {"armed": "weekly"}, {"days": 730}, {"days": 1}])
def test_hours_are_conserved(changes):
    """Catches: an hour in no class or in two, unarmed or unknown hours counted, states that lose weight."""
    whole = year(**changes)
    classes = sort_hours(whole)
    counted = np.count_nonzero(whole.armed & whole.known)
    assert sum(each.hours_per_year for each in classes) * whole.period_years == pytest.approx(counted, rel=1e-12)
    hours = np.concatenate([np.unique(each.states.hour) for each in classes])
    assert sorted(hours) == np.flatnonzero(whole.armed & whole.known).tolist()
    for each in classes:
        assert each.states.weight.sum() == pytest.approx(each.hours_per_year * whole.period_years, rel=1e-9)
    assert [each.name for each in classes] == [name for name in NAMES if name in {each.name for each in classes}]


def test_a_class_keeps_its_hours_joint_values():
    """Catches: values of one hour put with those of another."""
    whole = year()
    before = {(h, f): (a, v, g) for h, f, a, v, g in _rows(whole.states)}
    for each in sort_hours(whole):
        for hour, fog, air, visibility, ground in _rows(each.states):
            assert before[hour, fog] == (air, visibility, ground)
    fog = next(each for each in sort_hours(whole) if each.name == "dense fog")
    assert fog.states.visibility_m.max() < 200.0 and set(fog.states.fog) == {1, 2}


def _rows(states):
    return zip(states.hour, states.fog, states.air_temperature_c, states.visibility_m, states.ground_minus_air_k, strict=True)


def test_a_class_without_hours_is_left_out_and_one_stands_at_medians():
    """Catches: a class of no hours, of which no crossing could be drawn; medians that a site file would refuse."""
    assert [each.name for each in sort_hours(year(harmless=True))] == ["clear"]
    middles = {each.name: each.middle() for each in sort_hours(year())}
    assert middles["dense fog"].fog == "radiation" and middles["dense fog"].visibility_m.value < 200.0
    assert middles["clear"].fog == "none" and middles["clear"].visibility_m.value == pytest.approx(CAP_M)


def test_every_rule_says_its_limit():
    assert len(set(NAMES)) == len(NAMES) and RULES[-1].name == "clear"
    assert all(rule.words for rule in RULES)
