"""Armed hours: by the clock with its summer time, by the sun, by both; and records that tell too little of them."""

from dataclasses import replace
from types import SimpleNamespace

import numpy as np
import pytest

from fencecast.errors import InputError
from fencecast.meteorology.armed import Place, armed_at, armed_hours, place_of, sun_elevation_deg
from fencecast.meteorology.records.reading import read_records
from fencecast.meteorology.year import RECORD_FIELDS, Records
from fencecast.site.hourly import Armed, WeatherFile, spans_of
from meteorology.records.nycweather import FILE, PLACES, options

HOUR = np.timedelta64(3600, "s")
YEAR = np.datetime64("2013-01-01T00:00:00") + np.arange(8760) * HOUR


def records_of(time=YEAR, utc_offset_h=1.0, latitude=50.0, longitude=15.0, gaps=(), **values):
    known = {name: np.full(len(time), 1.0) for name in RECORD_FIELDS}
    for name, array in values.items():
        known[name] = array
    for array in known.values():
        array[list(gaps)] = np.nan
    return Records(time, utc_offset_h, latitude, longitude, 100.0, known, None, None, (), "made")


def site_of(armed=None, latitude=None, longitude=None, **weather_file):
    file = WeatherFile(path="made.epw", **weather_file)
    return SimpleNamespace(
        site=SimpleNamespace(latitude=latitude, longitude=longitude), armed=armed or Armed(), weather_file=file
    )


def armed_by(armed, time=YEAR, utc_offset_h=1.0, sun=None):
    return armed_at(armed, time, utc_offset_h, np.full(len(time), -90.0) if sun is None else sun)


def hours_armed(armed, day, **keys):
    """The hours of one day of 2013 that are armed, by local standard time."""
    return np.flatnonzero(armed_by(armed, **keys)[YEAR.astype("datetime64[D]") == np.datetime64(day)]).tolist()


# ------------------------------------------------------------------------------------------------ by the clock


def test_nothing_said_is_always_armed():
    assert armed_by(Armed()).all()


def test_a_night_of_twelve_hours_is_4380_hours_a_year():
    armed = armed_by(Armed(hours=["18:00-06:00"]))
    assert armed.sum() == 4380
    assert hours_armed(Armed(hours=["18:00-06:00"]), "2013-02-01") == [0, 1, 2, 3, 4, 5, 18, 19, 20, 21, 22, 23]


@pytest.mark.parametrize(("start", "armed_first"), [("18:00", 18), ("18:29", 18), ("18:30", 18), ("18:31", 19), ("19:00", 19)])
def test_an_hour_is_armed_by_its_middle(start, armed_first):
    assert hours_armed(Armed(hours=[f"{start}-24:00"]), "2013-02-01") == list(range(armed_first, 24))


@pytest.mark.parametrize(("end", "armed_last"), [("06:00", 5), ("06:30", 5), ("06:31", 6)])
def test_an_hour_is_armed_by_its_middle_at_the_end_too(end, armed_last):
    assert hours_armed(Armed(hours=[f"00:00-{end}"]), "2013-02-01") == list(range(armed_last + 1))


def test_a_night_belongs_to_the_day_on_which_it_begins():
    """Friday's night runs into Saturday; Sunday's night is not armed. 1 February 2013 was a Friday."""
    armed = Armed(hours={"mon-fri": ["22:00-02:00"]})
    assert hours_armed(armed, "2013-02-01") == [0, 1, 22, 23]
    assert hours_armed(armed, "2013-02-02") == [0, 1], "Saturday has the end of Friday's night"
    assert hours_armed(armed, "2013-02-03") == []
    assert hours_armed(armed, "2013-02-04") == [22, 23], "Monday has no end of Sunday's night"


def test_weekends_all_day_and_ranges_over_the_end_of_the_week():
    armed = Armed(hours={"mon-thu": ["20:00-05:00"], "fri": ["20:00-24:00"], "sat-sun": ["00:00-24:00"]})
    assert hours_armed(armed, "2013-02-02") == list(range(24)) == hours_armed(armed, "2013-02-03")
    assert hours_armed(armed, "2013-02-04") == [20, 21, 22, 23]
    days = spans_of({"sat-mon": ("00:00-24:00",)})[0].days
    assert days == {5, 6, 0}


def test_summer_time_moves_a_schedule_by_an_hour_of_standard_time():
    """18:00 on Berlin's clock in July is 17:00 standard time."""
    armed = Armed(hours=["18:00-06:00"], time_zone="Europe/Berlin")
    assert hours_armed(armed, "2013-07-10") == [0, 1, 2, 3, 4, 17, 18, 19, 20, 21, 22, 23]
    assert hours_armed(armed, "2013-01-10") == [0, 1, 2, 3, 4, 5, 18, 19, 20, 21, 22, 23]
    assert hours_armed(Armed(hours=["18:00-06:00"]), "2013-07-10") == hours_armed(armed, "2013-01-10"), "standard time if no zone"


def test_the_nights_on_which_clocks_change_have_eleven_and_thirteen_hours():
    """Berlin, 31 March and 27 October 2013: 18:00 to 6:00 by the clock."""
    armed = armed_by(Armed(hours=["18:00-06:00"], time_zone="Europe/Berlin"))

    def of_night(evening):
        noon = np.datetime64(f"{evening}T12:00:00")
        first = int((noon - YEAR[0]) // HOUR)
        return int(armed[first : first + 24].sum())

    assert [of_night(day) for day in ("2013-03-29", "2013-03-30", "2013-03-31")] == [12, 11, 12]
    assert [of_night(day) for day in ("2013-10-25", "2013-10-26", "2013-10-27")] == [12, 13, 12]
    # A span that lies in the hour that is lost arms nothing that night, and twice the hour that is doubled.
    lost = armed_by(Armed(hours=["02:00-03:00"], time_zone="Europe/Berlin"))
    days = YEAR.astype("datetime64[D]")
    assert lost[days == np.datetime64("2013-03-31")].sum() == 0
    assert lost[days == np.datetime64("2013-10-27")].sum() == 2
    assert lost.sum() == 365


def test_a_zone_is_turned_into_the_records_own_time():
    """18:00 in UTC is 13:00 five hours to the west, where the last five hours of a Friday are Saturday in UTC."""
    armed = Armed(hours=["18:00-24:00"], time_zone="UTC")
    assert hours_armed(armed, "2013-02-01", utc_offset_h=-5.0) == [13, 14, 15, 16, 17, 18]
    saturday = Armed(hours={"sat": ["00:00-24:00"]}, time_zone="UTC")
    assert hours_armed(saturday, "2013-02-01", utc_offset_h=-5.0) == [19, 20, 21, 22, 23]


# ------------------------------------------------------------------------------------------------ by the sun


def test_elevation_of_the_sun_at_solstice_and_equinox():
    """At noon by the sun 90 - latitude + declination (23.44 degrees in June, -23.44 in December); at midnight its mirror image.

    The middle of the hour is half an hour from noon, which is 0.9 degrees at most at 50 N; the equation of time does less.
    """
    records = records_of()
    sun = sun_elevation_deg(records, Place(50.0, 15.0, 0.0))
    by_day = sun.reshape(365, 24)
    assert by_day[171].max() == pytest.approx(63.44, abs=1.0) and by_day[171].min() == pytest.approx(-16.56, abs=1.0)
    assert by_day[354].max() == pytest.approx(16.56, abs=1.0) and by_day[354].min() == pytest.approx(-63.44, abs=1.0)
    assert by_day[171].argmax() in (11, 12)
    # An hour and its mirror about solar noon on the day of the equinox: -0.3 to 0.3 of declination, so zero at six.
    assert 0.5 * (by_day[78][5] + by_day[78][6]) == pytest.approx(0.0, abs=2.0)


def test_the_middle_of_the_hour_counts_not_its_start():
    """On the equator the sun moves 15 degrees an hour: 7.5 in half of one. Near the equinox it is 7.5 degrees up at 6:30."""
    time = np.datetime64("2013-03-20T06:00:00") + np.arange(1) * HOUR
    sun = sun_elevation_deg(records_of(time, utc_offset_h=0.0), Place(0.0, 0.0, 0.0))
    # 7.5 less the equation of time of 20 March, which is 7.5 minutes, 1.9 degrees (almanac, from memory).
    assert sun[0] == pytest.approx(7.5 - 1.9, abs=0.3)


def test_the_sun_below_an_elevation():
    records = records_of()
    sun = sun_elevation_deg(records, Place(50.0, 15.0, 0.0))
    for limit in (0.0, -6.0):
        assert np.array_equal(armed_by(Armed(sun_below_deg=limit), sun=sun), sun < limit)
    # Half of all hours have the sun below the horizon, wherever one is (refraction aside).
    assert armed_by(Armed(sun_below_deg=0.0), sun=sun).mean() == pytest.approx(0.5, abs=0.005)


def test_a_schedule_and_the_sun_must_both_hold():
    sun = sun_elevation_deg(records_of(), Place(50.0, 15.0, 0.0))
    clock, dark = Armed(hours=["18:00-06:00"]), Armed(sun_below_deg=-3.0)
    both = armed_by(Armed(hours=["18:00-06:00"], sun_below_deg=-3.0), sun=sun)
    assert np.array_equal(both, armed_by(clock) & armed_by(dark, sun=sun))
    assert 0 < both.sum() < min(armed_by(clock).sum(), armed_by(dark, sun=sun).sum())


# ------------------------------------------------------------------------------------------------ where


def test_the_sites_place_comes_before_the_files():
    records = records_of(latitude=50.0, longitude=15.0)
    assert place_of(site_of(), records) == Place(50.0, 15.0, 100.0)
    assert place_of(site_of(latitude=51.0, longitude=14.0), records) == Place(51.0, 14.0, 100.0)
    with pytest.raises(InputError) as caught:
        place_of(site_of(), records_of(latitude=None, longitude=None))
    assert "[site] latitude is missing: degrees, for the sun: the weather file has none" in str(caught.value)


def test_a_longitude_on_the_wrong_side_is_refused():
    """79.95 for 79.95 west: the sun would rise ten hours off the clock, and 'dark' hours would be day."""
    with pytest.raises(InputError) as caught:
        place_of(site_of(latitude=36.1, longitude=79.95), records_of(utc_offset_h=-5.0))
    assert "[site] longitude = 79.95 is not allowed: degrees east (west is negative)" in str(caught.value)
    assert "the sun would be 10.3 h away from the clock" in str(caught.value)
    # The widest that there is: western China, which keeps Beijing's time.
    assert place_of(site_of(latitude=39.5, longitude=76.0), records_of(utc_offset_h=8.0)).longitude == 76.0
    # Across the date line: Kiribati, 14 h from UTC at 157 W.
    assert place_of(site_of(latitude=2.0, longitude=-157.4), records_of(utc_offset_h=14.0)).longitude == -157.4


# ------------------------------------------------------------------------------------------------ enough of them


def test_only_armed_hours_are_needed():
    """A record without its days is whole for a site that watches at night; a night in five missing is too much."""
    armed = Armed(hours=["18:00-06:00"])
    night = armed_by(armed)
    site = site_of(armed)
    assert armed_hours(site, records_of(gaps=np.flatnonzero(~night)), np.zeros(8760)).sum() == 4380
    with pytest.raises(InputError) as caught:
        armed_hours(site, records_of(gaps=np.flatnonzero(night)[: 4380 // 5]), np.zeros(8760))
    assert str(caught.value) == (
        "made.epw: it tells enough of 3,504 of 4,380 armed hours in a year (80.0 %), and 90 % are needed: it lacks "
        "air_temperature_c in 876, relative_humidity in 876, wind_m_s in 876, visibility_m in 876, precipitation in 876; most "
        "hours are missing in "
        "2013-01 (372), 2013-02 (336), 2013-03 (168); use a fuller file, or type least_share = 0.80 in [weather_file] to count "
        "the hours that there are"
    )
    relaxed = site_of(armed, least_share=0.8)
    assert armed_hours(relaxed, records_of(gaps=np.flatnonzero(night)[: 4380 // 5]), np.zeros(8760)).sum() == 4380


@pytest.mark.parametrize(("gaps", "accepted"), [(876, True), (877, False)])
def test_ninety_percent_is_the_line(gaps, accepted):
    records = records_of(gaps=range(gaps))
    if accepted:
        armed_hours(site_of(), records, np.zeros(8760))
    else:
        with pytest.raises(InputError, match="90 % are needed"):
            armed_hours(site_of(), records, np.zeros(8760))


def test_a_gauge_that_fails_for_months_is_a_gap_and_one_that_never_was_is_not():
    fell = np.zeros(8760)
    fell[:2000] = np.nan
    none = np.full(8760, np.nan)
    with pytest.raises(InputError, match="it lacks precipitation in 2,000; most"):
        armed_hours(site_of(), records_of(rain_mm_h=none, snow_mm_h=none.copy(), precipitation_mm_h=fell), np.zeros(8760))
    dry = records_of(rain_mm_h=none, snow_mm_h=none.copy(), precipitation_mm_h=none.copy())
    assert armed_hours(site_of(), dry, np.zeros(8760)).all()


def test_blank_precipitation_is_refused_with_what_a_blank_may_mean():
    """A station that writes rain and nothing else, four hours in ten. Catches: advice that leads to wet hours alone."""
    fell = np.where(np.arange(8760) % 10 < 4, np.arange(8760) % 10 < 3, np.nan)
    none = np.full(8760, np.nan)
    columns = {"precipitation": {"column": "precip", "unit": "in"}, "wind": {"column": "wind", "unit": "m/s"}}
    time = {"column": "time", "zone": "UTC"}

    def refused(gauge, columns=columns, **values):
        file = {"kind": "csv", "columns": columns, "time": time} if columns else {}
        given = {"rain_mm_h": none.copy(), "snow_mm_h": none.copy(), "precipitation_mm_h": gauge, **values}
        with pytest.raises(InputError) as caught:
            armed_hours(site_of(**file), records_of(**given), np.zeros(8760))
        return str(caught.value)

    text = refused(fell.copy())
    assert "it lacks precipitation in 5,256; most hours are missing in" in text
    assert (
        "; where precipitation is blank it is unknown, not 0, because a gauge that fails is blank too: if this station leaves "
        'dry hours blank, type precipitation = { column = "precip", unit = "in", empty = 0.0 } in columns of [weather_file]; '
        "25 % of the known hours are dry, which may be far from the year's share; otherwise use a fuller file, or type "
        "least_share = 0.40"
    ) in text
    # Typed already, or a file without a column map: nothing to type.
    said = {"precipitation": {**columns["precipitation"], "empty": 0.0}}
    for other in (said, None):
        assert "empty = 0.0" not in refused(fell.copy(), other) and "; use a fuller file" in refused(fell.copy(), other)
    # When another field is missing in the same hours, the gauge is not what is missing.
    gone = np.where(np.isnan(fell), np.nan, 1.0)
    assert "blank" not in refused(fell.copy(), wind_m_s=gone)


def test_gaps_of_a_few_hours_are_no_gaps():
    """An observer who writes every third hour tells enough: fields are filled over up to three hours."""
    gone = np.setdiff1d(np.arange(8760), np.arange(0, 8760, 3))
    assert armed_hours(site_of(), records_of(gaps=gone), np.zeros(8760)).all()


@pytest.mark.parametrize("name", ["air_temperature_c", "relative_humidity", "wind_m_s", "visibility_m"])
def test_one_field_missing_is_enough_to_be_refused(name):
    with pytest.raises(InputError, match=f"it lacks {name} in 8,760; most"):
        armed_hours(site_of(), records_of(**{name: np.full(8760, np.nan)}), np.zeros(8760))
    armed_hours(site_of(), records_of(cloud=np.full(8760, np.nan)), np.zeros(8760))


def test_a_month_is_not_a_year():
    """Would catch a January alone taken for twelve: every hour of it is there, and eleven months are not."""
    time = YEAR[: 31 * 24]
    with pytest.raises(InputError, match=r"744 of 8,760 armed hours in a year \(8.5 %\)"):
        armed_hours(site_of(), records_of(time), np.zeros(len(time)))
    dark = site_of(Armed(sun_below_deg=0.0), latitude=50.0, longitude=15.0)
    sun = sun_elevation_deg(records_of(time), Place(50.0, 15.0, 0.0))
    with pytest.raises(InputError, match=r"of 4,3\d\d armed hours"):
        armed_hours(dark, records_of(time), sun)


def test_no_armed_hour_is_refused():
    with pytest.raises(InputError, match=r"\[armed\] = \{ sun_below_deg = -18.0 \} is not allowed: .* arms at least one hour"):
        armed_hours(site_of(Armed(sun_below_deg=-18.0)), records_of(), np.zeros(8760))


@pytest.mark.parametrize(
    ("hours", "zone", "instead"),
    [
        (["22:50-23:05"], {}, "22:00-24:00"),
        (["23:50-00:05"], {}, "23:00-01:00"),
        ({"sat": ["05:31-06:10"]}, {}, "05:00-07:00"),
        (["22:05-22:55"], {"time_zone": "Asia/Kolkata"}, "22:00-23:00"),
    ],
)
def test_a_span_that_misses_every_middle_is_told_so(hours, zone, instead):
    """Catches: advice about the sun for a span of a quarter of an hour. In India middles of hours of UTC fall on full hours."""
    armed = Armed(hours=hours, **zone)
    with pytest.raises(InputError) as caught:
        armed_hours(site_of(armed), records_of(), np.zeros(8760))
    assert "a span of whole hours, because an hour counts when its middle lies in the schedule, and no middle" in str(
        caught.value
    )
    assert str(caught.value).endswith(f'type for instance hours = ["{instead}"]')
    assert armed_by(Armed(hours=[instead], **zone)).any()


def test_a_schedule_that_the_sun_takes_away_is_told_so():
    with pytest.raises(InputError, match=r"hours and sun_below_deg must hold together; type for instance sun_below_deg = 0.0"):
        armed_hours(site_of(Armed(hours=["10:00-14:00"], sun_below_deg=0.0)), records_of(), np.full(8760, 20.0))


@pytest.mark.parametrize("station", PLACES)
def test_three_real_stations_have_enough(station):
    latitude, longitude = PLACES[station]
    site = site_of(Armed(hours=["18:00-06:00"], time_zone="America/New_York"), latitude, longitude)
    records = read_records(FILE, "csv", options(station))
    assert len(records.time) == 8730, "the files end on 30 December"
    armed = armed_hours(site, records, sun_elevation_deg(records, place_of(site, records)))
    # 12 of 24 hours; the record starts at 1:00 on 1 January and ends at 18:59 on 30 December.
    assert armed.sum() == pytest.approx(4380 - 17, abs=2)
    holes = replace(records, values={**records.values, "visibility_m": np.full(8730, np.nan)})
    with pytest.raises(InputError, match="it lacks .*visibility_m in 4,3"):
        armed_hours(site, holes, np.zeros(8730))
