"""Checks of an hourly record, on invented hours: gaps, fog, length, place."""

import dataclasses

import numpy as np
import pytest

import fencecast as fc
from meteorology.invented_year import invented_year
from meteorology.records.epwmaker import write_epw
from review.yards import CONFIGS

TEXT = (CONFIGS / "marsh-depot.toml").read_text(encoding="utf-8")


def of(site, year, id):
    return [f for f in fc.check(site, year=year).findings if f.id == id]


@pytest.fixture(scope="module")
def year():
    return invented_year()


@pytest.fixture(scope="module")
def depot():
    return fc.parse_site(TEXT)


def test_gaps_by_their_share_and_by_their_longest_run(year, depot):
    """Catches: hours that are not armed counted as gaps; a long gap hidden in a small share."""
    armed = np.ones(len(year.armed), dtype=bool)
    known = np.ones_like(armed)
    assert of(depot, dataclasses.replace(year, armed=armed, known=known), "record-gaps") == []
    known[100:149] = False
    found = of(depot, dataclasses.replace(year, armed=armed, known=known), "record-gaps")
    assert found[0].facts["longest"] == 49.0 and found[0].value == pytest.approx(49 / len(armed))
    asleep = armed.copy()
    asleep[100:149] = False
    assert of(depot, dataclasses.replace(year, armed=asleep, known=known), "record-gaps") == []
    # Day lies between two nights of one gap: it does not end the run, and does not count.
    nights = armed.copy()
    nights[110:130] = False
    known[100:180] = False
    assert of(depot, dataclasses.replace(year, armed=nights, known=known), "record-gaps")[0].facts["longest"] == 60.0
    known[:] = True
    known[::40] = False
    assert of(depot, dataclasses.replace(year, armed=armed, known=known), "record-gaps")[0].value == pytest.approx(
        0.025, abs=1e-3
    )


def test_a_record_without_fog(year, depot):
    clear = dict(year.middle, visibility_m=np.full(len(year.armed), 20_000.0))
    assert of(depot, dataclasses.replace(year, middle=clear), "record-no-fog")[0].value == 0.0
    clear["visibility_m"][np.flatnonzero(year.counted)[:10]] = 300.0
    assert of(depot, dataclasses.replace(year, middle=clear), "record-no-fog") == []


@pytest.mark.parametrize(("years", "severity"), [(0.5, "warn"), (1.0, "note"), (3.0, None)])
def test_a_short_record(year, depot, years, severity):
    found = of(depot, dataclasses.replace(year, period_years=years), "record-short")
    assert [f.severity for f in found] == ([severity] if severity else [])


def test_a_record_from_elsewhere_and_what_was_mistyped(year, tmp_path):
    """Catches: a southern site with a northern record. 54.0 N against 54.0 S are 108 degrees of latitude, 12,009 km."""
    write_epw(tmp_path / "station.epw", place={"latitude": 54.0})
    text = TEXT[: TEXT.index("[weather_file]")] + '[weather_file]\npath = "station.epw"\n' + TEXT[TEXT.index("[[perimeter]]") :]
    for latitude, longitude, km, hint in (
        (-54.0, 8.0, 12_009.0, "the sign of latitude is wrong"),
        (8.0, 54.0, None, "latitude and longitude are swapped"),
        (54.1, 8.1, 0.0, None),
    ):
        file = tmp_path / "site.toml"
        there = text.replace("latitude = 54.0", f"latitude = {latitude}")
        file.write_text(there.replace("longitude = 4.0", f"longitude = {longitude}"))
        found = of(fc.load_site(file), year, "record-far")
        assert len(found) == (hint is not None)
        if hint:
            assert found[0].facts["hint"] == hint
        if km:
            assert found[0].value == pytest.approx(km, rel=1e-3)


def test_a_clock_of_another_place(year):
    """Catches: a sign of longitude. Berlin's clock is an hour ahead, the sun at 122 W 8.13 hours behind."""
    text = TEXT.replace('hours = ["18:00-06:00"]', 'hours = ["18:00-06:00"]\ntime_zone = "Europe/Berlin"')
    assert of(fc.parse_site(text), year, "place-contradicts") == []
    found = of(fc.parse_site(text.replace("longitude = 4.0", "longitude = -122.0")), year, "place-contradicts")
    assert found[0].value == pytest.approx(1.0 + 122.0 / 15.0)


def test_without_weather_the_record_is_not_read(depot):
    """Catches: seconds of reading where nobody wanted them. The path leads nowhere."""
    found = fc.check(depot, weather=False)
    assert {"record-gaps", "record-no-fog", "record-short", "record-far"} <= {each.id for each in found.not_asked}
