"""What an error of aim costs: the same numbers as a comparison whose variants are written by hand."""

import numpy as np
import pytest

import fencecast as fc
import fencecast.prove.aimcost as aimcost
from fencecast.prove.aimcost import ERRORS_DEG, WAYS, Cost, cost_of, turned_variants, worst_class
from fencecast.site import parse_site, site_to_toml
from prove.aimyards import WEATHER, camera, yard

FOG = {
    "name": "thick fog", "hours_per_year": 200, "air_temperature_c": 7.0, "relative_humidity": 0.99, "ground_minus_air_k": 0.3,
    "fog": "radiation", "visibility_m": 25.0, "sky": "overcast",
}  # fmt: skip


@pytest.fixture(scope="module")
def site():
    """Two cameras that face each other along 48 m, typed as angles, so that variants can be typed too."""
    cameras = [
        camera("K1", position_m=[0.0, 2.0], bearing_deg=90.0, depression_deg=12.0),
        camera("K2", position_m=[48.0, 2.0], bearing_deg=270.0, depression_deg=12.0),
    ]
    return yard(cameras, weather=[*WEATHER, FOG])


def by_hand(site):
    """The eight variants of K1 as a user would type them into the site file."""
    changes = {
        "a": "bearing_deg = 89.0", "b": "bearing_deg = 87.0", "c": "bearing_deg = 91.0", "d": "bearing_deg = 93.0",
        "e": "depression_deg = 13.0", "f": "depression_deg = 15.0", "g": "depression_deg = 11.0", "h": "depression_deg = 9.0",
    }  # fmt: skip
    tables = [f'\n[[variant]]\nname = "{name}"\nchange.camera.K1.{change}\n' for name, change in changes.items()]
    return parse_site(site_to_toml(site) + "".join(tables))


def test_the_cost_is_that_of_variants_typed_by_hand(site):
    """Catches: a wrong way or sign, another class, a fall that is not told from chance, a place that is not the lowest."""
    cost = cost_of(site, "K1", "clear night", precision=0.1)
    found = fc.compare(by_hand(site), precision=0.1, weather=["clear night"])
    assert [(fall.way, fall.error_deg) for fall in cost.falls] == [(way, error) for way in WAYS for error in ERRORS_DEG]
    told = 0
    for k, fall in enumerate(cost.falls):
        change = found["pd_difference"].values[k, 0]
        good = (found["pd_difference_high"].values[k, 0] < 0.0) & (change <= -0.005)
        if not good.any():
            assert (fall.pd_change, fall.section) == (0.0, None)
            continue
        told += 1
        i = int(np.argmin(np.where(good, change, 0.0)))
        assert (fall.pd_change, fall.section) == (change[i], 0)
        assert (fall.start_m, fall.end_m) == (found["segment_start_m"].values[i], found["segment_end_m"].values[i])
    assert told >= 1, "nothing was compared"
    assert cost.weather == "clear night" and isinstance(cost, Cost)


def test_only_the_named_camera_is_turned(site):
    variants = turned_variants(site, "K2")
    assert len(variants) == 9 and variants[0].site.camera == site.camera
    for variant in variants[1:]:
        assert variant.site.camera[0] == site.camera[0] and variant.site.camera[1] != site.camera[1]
    by_name = {variant.name: variant.site.camera[1] for variant in variants}
    assert by_name["3 degrees too far left"].bearing_deg == 267.0 and by_name["1 degrees too low"].depression_deg == 13.0


def test_turning_past_north_and_past_straight_down_is_a_camera_still():
    site = yard([camera("K1", bearing_deg=1.0, depression_deg=88.0)])
    by_name = {variant.name: variant.site.camera[0] for variant in turned_variants(site, "K1")}
    assert by_name["3 degrees too far left"].bearing_deg == 358.0 and by_name["3 degrees too low"].depression_deg == 90.0


def test_the_worst_class_is_that_of_a_run(site):
    """Fog of 25 m: both ways of asking."""
    from fencecast.estimate.places import worst_first

    assert worst_class(site) == "thick fog" == worst_first(fc.run(site, precision=0.05))[0].name


def test_the_cost_of_all_asked_cameras_comes_with_the_sheets(site, monkeypatch):
    """Catches: the module's precision bound where a function is defined, so that nobody could ask for another."""
    asked = []

    def compared(variants, precision, **more):
        asked.append(precision)
        return fc.compare(variants, precision=0.15, **more)  # quick, whatever was asked

    monkeypatch.setattr(aimcost, "PRECISION", 0.15)
    monkeypatch.setattr(aimcost, "compare", compared)
    sheets = fc.aim(site, cameras=["K2"], cost=True)
    assert asked == [0.15]
    assert [each.mount.mark for each in sheets.cameras] == ["K2"] and sheets.cameras[0].cost.weather == "thick fog"
