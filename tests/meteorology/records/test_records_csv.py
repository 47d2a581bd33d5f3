"""Hourly CSV files through the column map: three real stations, and every habit of such files by name."""

import numpy as np
import pandas as pd
import pytest

from fencecast.errors import InputError
from fencecast.meteorology.records.reading import read_records
from fencecast.site.columns import MEASURES, in_record_units
from fencecast.site.hourly import WeatherFile
from meteorology.records.hourly_records import said
from meteorology.records.nycweather import BY_CLOCK, COLUMNS, FILE, STATIONS, options

PLAIN = {
    "air_temperature": {"column": "temp", "unit": "degC"},
    "relative_humidity": {"column": "rh", "unit": "percent"},
    "wind": {"column": "wind", "unit": "m/s"},
    "visibility": {"column": "vis", "unit": "m"},
    "precipitation": {"column": "rain", "unit": "mm"},
}
LOCAL = {"column": "time", "zone": "local standard"}
BERLIN = {"column": "time", "zone": "Europe/Berlin"}


def read(folder, lines, heading="time,temp,rh,wind,vis,rain", time=LOCAL, columns=PLAIN, **keys):
    path = folder / "made.csv"
    path.write_text("\n".join([heading, *lines]) + "\n")
    given = {"utc_offset_h": 1.0} if time["zone"] in ("UTC", "local standard") else {}
    return read_records(path, "csv", WeatherFile(path=path.name, columns=columns, time=time, **{**given, **keys}))


def report(folder, lines, **keys):
    with pytest.raises(InputError) as caught:
        read(folder, lines, **keys)
    return str(caught.value)


# ------------------------------------------------------------------------------------------------ real stations


@pytest.mark.parametrize("station", STATIONS)
def test_real_stations_equal_a_plain_reading(station):
    """Against pandas and factors typed here: 1 mile 1,609.344 m, 1 mph 0.44704 m/s, 1 inch 25.4 mm, F = 1.8 C + 32."""
    records = read_records(FILE, "csv", options(station))
    table = pd.read_csv(FILE)
    table = table[table["origin"] == station]
    start = pd.to_datetime(table["time_hour"], utc=True).dt.tz_convert("Etc/GMT+5").dt.tz_localize(None).to_numpy()
    place = np.searchsorted(records.time, start.astype("datetime64[s]"))
    assert np.array_equal(records.time[place], start.astype("datetime64[s]"))
    wind = 0.44704 * table["wind_speed"].to_numpy()
    visibility = 1609.344 * table["visib"].to_numpy()
    temp = table["temp"].to_numpy()
    lone = (table["time_hour"] == "2013-05-09T02:00:00Z").to_numpy() & (temp < 20.0)  # JFK: 13.1 F between 57.0 and 57.2
    assert lone.sum() == (station == "JFK")
    expected = {
        "air_temperature_c": np.where(lone, np.nan, (temp - 32.0) / 1.8),
        "relative_humidity": table["humid"].to_numpy() / 100.0,
        "wind_m_s": np.where(wind > 400.0, np.nan, wind),
        "visibility_m": np.where(visibility == 0.0, 0.5 * visibility[visibility > 0.0].min(), visibility),
        "precipitation_mm_h": 25.4 * table["precip"].to_numpy(),
        "pressure_hpa": table["pressure"].to_numpy(),
    }
    for name, values in expected.items():
        np.testing.assert_allclose(records.values[name][place], values, rtol=1e-9, atol=1e-9, err_msg=name)
    assert len(records.time) == 8730
    rest = np.setdiff1d(np.arange(8730), place)
    assert all(np.all(np.isnan(values[rest])) for values in records.values.values())
    assert said(records, "time") == [f"the file: time {len(rest)} of 8,730 hours: the file has no row for them; they are unknown"]


@pytest.mark.parametrize("station", STATIONS)
def test_utc_and_the_clock_of_new_york_give_the_same_hours(station):
    """The file tells its time twice: in UTC, and by the clock, with the lost hour of March and the doubled of November."""
    utc, clock = (read_records(FILE, "csv", options(station, time)) for time in (options(station).time, BY_CLOCK))
    assert clock.utc_offset_h == utc.utc_offset_h == -5.0
    assert np.array_equal(utc.time, clock.time)
    for name in utc.values:
        assert np.array_equal(utc.values[name], clock.values[name], equal_nan=True), name
    autumn = slice(*np.searchsorted(utc.time, np.array(["2013-11-03T00", "2013-11-03T03"], dtype="datetime64[s]")))
    assert np.all(np.isfinite(clock.values["air_temperature_c"][autumn]))


def test_the_wind_of_1048_mph_is_reported_and_dropped():
    records = read_records(FILE, "csv", options("EWR"))
    assert [text for text in said(records, "wind_m_s") if "1048" in text] == [
        "line 1011: wind_m_s 1048.36058 mph: impossible, dropped: 0 to 75 are possible (a mean of minutes above 75 m/s belongs "
        "to the worst storms on record, not to a fence)"
    ]
    assert FILE.read_text().splitlines()[1010].startswith("EWR,2013,2,12,3,39.02,26.96,61.63,260,1048.36058")
    hour = np.searchsorted(records.time, np.datetime64("2013-02-12T03:00:00"))
    assert np.isnan(records.values["wind_m_s"][hour]) and records.values["air_temperature_c"][hour] == pytest.approx(3.9)
    assert np.nanmax(records.values["wind_m_s"]) < 20.0


@pytest.mark.parametrize("station", STATIONS)
def test_visibility_ends_at_10_miles(station):
    records = read_records(FILE, "csv", options(station))
    assert records.visibility_cap_m == pytest.approx(16_093.44)


def test_several_stations_in_one_file_are_refused_without_a_choice():
    """Would catch three stations read as one, two hours of three thrown away."""
    given = WeatherFile(path="weather.csv", columns=COLUMNS, time={"column": "time_hour", "zone": "UTC"}, utc_offset_h=-5.0)
    with pytest.raises(InputError, match="it has 26,115 rows for 8,714 hours: not one row an hour; choose the station's rows"):
        read_records(FILE, "csv", given)
    with pytest.raises(InputError, match=r'only origin = "ORD" is not allowed: a text that .* heading: "EWR", "JFK", "LGA"'):
        read_records(FILE, "csv", options("EWR", only={"origin": "ORD"}))


# ------------------------------------------------------------------------------------------------ time


def test_an_autumn_night_by_the_clock_has_all_its_hours(tmp_path):
    """In Berlin 2:00 to 3:00 came twice on 27 October 2013, at 0:00 and 1:00 UTC."""
    hours = ["27T00", "27T01", "27T02", "27T02", "27T03", "27T04"]
    records = read(tmp_path, [f"2013-10-{h}:00,{k},80,2,9000,0" for k, h in enumerate(hours)], time=BERLIN)
    assert records.utc_offset_h == 1.0
    assert records.values["air_temperature_c"].tolist() == [0, 1, 2, 3, 4, 5]
    # Local standard time is an hour behind summer time: the night starts at 23:00 the day before.
    assert str(records.time[0]) == "2013-10-26T23:00:00" and str(records.time[-1]) == "2013-10-27T04:00:00"
    assert records.problems == ()


def test_an_autumn_night_told_backwards_is_the_same(tmp_path):
    hours = ["27T00", "27T01", "27T02", "27T02", "27T03", "27T04"]
    lines = [f"2013-10-{h}:00,{k},80,2,9000,0" for k, h in enumerate(hours)]
    records = read(tmp_path, lines[::-1], time=BERLIN)
    assert records.values["air_temperature_c"].tolist() == [0, 1, 2, 3, 4, 5]


def test_an_autumn_hour_told_once_is_summer_time_and_a_gap(tmp_path):
    hours = ["27T01", "27T02", "27T03"]
    records = read(tmp_path, [f"2013-10-{h}:00,{k},80,2,9000,0" for k, h in enumerate(hours)], time=BERLIN)
    assert np.array_equal(records.values["air_temperature_c"], [0, 1, np.nan, 2], equal_nan=True)
    assert said(records, "time")[0] == (
        "line 3: time 2013-10-27T02:00:00: comes twice in Europe/Berlin and stands here once; taken as summer time"
    )


def test_a_spring_night_by_the_clock_has_no_gap(tmp_path):
    """On 31 March 2013 Berlin's clocks went from 2:00 to 3:00."""
    hours = ["00", "01", "03", "04"]
    records = read(tmp_path, [f"2013-03-31 {h}:00,{k},80,2,9000,0" for k, h in enumerate(hours)], time=BERLIN)
    assert records.values["air_temperature_c"].tolist() == [0, 1, 2, 3]
    assert str(records.time[-1]) == "2013-03-31T03:00:00" and records.problems == ()


def test_an_hour_that_does_not_exist_is_reported(tmp_path):
    hours = ["00", "01", "02", "03", "04"]
    records = read(tmp_path, [f"2013-03-31 {h}:00,{k},80,2,9000,0" for k, h in enumerate(hours)], time=BERLIN)
    assert records.values["air_temperature_c"].tolist() == [0, 1, 3, 4]
    assert said(records, "time")[0].startswith("line 4: time 2013-03-31T02:00:00: does not exist in Europe/Berlin")


def test_the_south_has_its_summer_time_in_january(tmp_path):
    """Sydney is 10 h from UTC in winter, 11 h in January."""
    zone = {"column": "time", "zone": "Australia/Sydney"}
    records = read(tmp_path, ["2013-01-10 12:00,30,40,2,9000,0"], time=zone)
    assert records.utc_offset_h == 10.0 and str(records.time[0]) == "2013-01-10T11:00:00"


def test_utc_becomes_local_standard_time(tmp_path):
    lines = ["2013-06-01T23:00:00Z,12,80,2,9000,0", "2013-06-02T00:00:00Z,11,80,2,9000,0"]
    records = read(tmp_path, lines, time={"column": "time", "zone": "UTC"}, utc_offset_h=-5.0)
    assert str(records.time[0]) == "2013-06-01T18:00:00" and records.utc_offset_h == -5.0
    refused = report(tmp_path, lines)
    assert '[weather_file] time zone = "local standard" is not allowed: the zone of the times, which say their offset' in refused


@pytest.mark.parametrize("label", ["2013-06-01 01:00", "2013-06-01 00:30", "2013-06-01 00:01"])
def test_times_may_mark_the_end_of_the_hour(tmp_path, label):
    records = read(tmp_path, [f"{label},12,80,2,9000,0"], time={**LOCAL, "marks": "end"})
    assert str(records.time[0]) == "2013-06-01T00:00:00"


def test_hours_1_to_24_in_columns(tmp_path):
    parts = {"year": "y", "month": "m", "day": "d", "hour": "h", "marks": "end"}
    lines = ["2012,2,28,24,1,80,2,9000,0", "2012,2,29,1,2,80,2,9000,0", "2012,2,29,24,3,80,2,9000,0"]
    records = read(tmp_path, lines, heading="y,m,d,h,temp,rh,wind,vis,rain", time={**parts, "zone": "local standard"})
    known = records.time[np.isfinite(records.values["air_temperature_c"])]
    assert known.astype(str).tolist() == ["2012-02-28T23:00:00", "2012-02-29T00:00:00", "2012-02-29T23:00:00"]


def test_a_format_of_ones_own(tmp_path):
    records = read(tmp_path, ["31.12.2012 18:00,1,80,2,9000,0"], time={**LOCAL, "format": "%d.%m.%Y %H:%M"})
    assert str(records.time[0]) == "2012-12-31T18:00:00"
    refused = report(tmp_path, ["31.12.2012 18:00,1,80,2,9000,0"])
    assert '[weather_file] time = "31.12.2012 18:00" is not allowed: times that can be read' in refused
    assert refused.endswith('type for instance format = "%d.%m.%Y %H:%M" in time')


DRY_BLANK = {**PLAIN, "precipitation": {"column": "rain", "unit": "in", "empty": 0.0}}


def test_a_blank_gauge_is_unknown_and_dry_where_the_site_file_says_so(tmp_path):
    """Blank alone: a mark for missing stays missing; other fields stay unknown; what was taken as 0 is counted."""
    lines = [f"2013-06-01 {h:02d}:00,,80,2,9000,{rain}" for h, rain in enumerate(["", "0.1", "NA", "-9", " ", "T"])]
    unknown = read(tmp_path, lines, missing=["-9"]).values["precipitation_mm_h"]
    assert np.array_equal(unknown, [np.nan, 0.1, np.nan, np.nan, np.nan, 0.05], equal_nan=True)
    records = read(tmp_path, lines, columns=DRY_BLANK, missing=["-9"])
    np.testing.assert_allclose(records.values["precipitation_mm_h"], [0.0, 2.54, np.nan, np.nan, 0.0, 0.05])
    assert np.all(np.isnan(records.values["air_temperature_c"]))
    assert said(records, "precipitation_mm_h")[1:] == [
        "the file: precipitation_mm_h blank in 2 of 6 rows: taken as 0, as empty = 0 of precipitation in columns says"
    ]


def test_a_blank_is_not_dry_when_another_row_of_the_hour_tells(tmp_path):
    """Stations add rows in between; the depth of the hour stands in one of them."""
    lines = [f"2013-06-01 {clock},1,80,2,9000,{rain}" for clock, rain in (("00:05", ""), ("00:50", "0.1"), ("01:50", ""))]
    records = read(tmp_path, [*lines, "2013-06-01 02:50,1,80,2,9000,"], columns=DRY_BLANK)
    np.testing.assert_allclose(records.values["precipitation_mm_h"], [2.54, 0.0, 0.0])


def hours_of_2013(form, days=365):
    start = pd.date_range("2013-01-01", periods=24 * days, freq="h")
    return [f"{when.strftime(form)},1,80,2,9000,0" for when in start]


@pytest.mark.parametrize(
    ("form", "typed", "how", "line", "count"),
    [
        ("%m/%d/%Y %H:%M", "%d/%m/%Y %H:%M", 'by format = "%d/%m/%Y %H:%M"', 290, 5304),  # 221 of 365 days are after a 12th
        ("%d/%m/%Y %H:%M", "%m/%d/%Y %H:%M", 'by format = "%m/%d/%Y %H:%M"', 290, 5304),
    ],
)
def test_day_and_month_in_the_wrong_order_are_refused(tmp_path, form, typed, how, line, count):
    """Catches: 5,304 rows taken for gaps, and 3,456 put on another day of the year. Days after the 12th: 365 - 12 x 12 = 221."""
    refused = report(tmp_path, hours_of_2013(form), time={**LOCAL, "format": typed})
    first = "01/13/2013 00:00" if form.startswith("%m") else "13/01/2013 00:00"
    assert (
        f'[weather_file] time = "{first}" cannot be read {how}: so it is in {count:,} of 8,760 rows, the first in line {line}'
        in refused
    )
    assert refused.endswith(f'type for instance format = "{form}" in time, which reads 8,760 of them')
    records = read(tmp_path, hours_of_2013(form), time={**LOCAL, "format": form})
    assert len(records.time) == 8760 and records.problems == ()


@pytest.mark.parametrize("form", ["%d.%m.%Y %H:%M", "%m/%d/%Y %I:%M %p", "%Y%m%d%H", "%d-%b-%Y %H:%M:%S", "%d/%m/%y %H:%M"])
def test_a_format_that_is_proposed_reads_the_file(tmp_path, form):
    refused = report(tmp_path, hours_of_2013(form, 60), time={**LOCAL, "format": "%Y/%d/%m %H"})
    assert refused.endswith(f'type for instance format = "{form}" in time')


def test_days_up_to_the_12th_are_told_apart_by_their_order(tmp_path):
    """Both orders read ten days of March; in one of them hour follows hour."""
    for form in ("%d/%m/%Y %H:%M", "%m/%d/%Y %H:%M"):
        lines = [f"{when.strftime(form)},1,80,2,9000,0" for when in pd.date_range("2013-03-01", periods=240, freq="h")]
        assert f'format = "{form}" in time' in report(tmp_path, lines)


def test_many_rows_without_a_time_are_refused_and_a_few_are_notes(tmp_path):
    """Rows of sums are notes; where a tenth of the file is no time, nobody knows what the rest is."""
    plain = hours_of_2013("%Y-%m-%d %H:%M", 30)
    few = read(tmp_path, [*plain, *["sum,1,80,2,9000,0"] * 23, ",,,,,"])
    assert (
        said(few, "time")[0] == "the file: time 24 rows, lines 722 to 745: is no time; the row is left out (the first 10 follow)"
    )
    refused = report(tmp_path, [*plain, *["sum,1,80,2,9000,0"] * 100])
    assert 'time = "sum" cannot be read as it stands: so it is in 100 of 820 rows, the first in line 722' in refused
    assert refused.endswith("%H hour, %M minute)")
    # Blank rows at the end of a sheet are no times at all.
    assert len(read(tmp_path, [*plain, *[",,,,,"] * 900]).time) == 720
    parts = {"year": "y", "month": "m", "day": "d", "hour": "h", "zone": "local standard"}
    lines = [
        f"2013,{when.day},{when.month},{when.hour},1,80,2,9000,0" for when in pd.date_range("2013-01-01", periods=960, freq="h")
    ]
    assert "look at what names the time" in report(tmp_path, lines, heading="y,m,d,h,temp,rh,wind,vis,rain", time=parts)


def by_clock(zone, form="%Y-%m-%d %H:%M", end=False):
    """A year as a clock with summer time tells it: rows by UTC, labels by the zone."""
    shown = pd.date_range("2013-01-01", periods=8760, freq="h", tz="UTC").tz_convert(zone).tz_localize(None)
    if end:  # named by their end, on the clock of their start
        shown = shown + pd.Timedelta("1h")
    return [f"{when.strftime(form)},1,80,2,9000,0" for when in shown]


@pytest.mark.parametrize(
    ("zone", "offset_h"),
    [("Europe/Berlin", 1.0), ("Europe/London", 0.0), ("America/New_York", -5.0), ("Australia/Sydney", 10.0)],
)
@pytest.mark.parametrize("marks", ["start", "end"])
def test_a_clock_with_summer_time_gives_itself_away(tmp_path, zone, offset_h, marks):
    """Catches: half of the year an hour off without a word. The zone is found by the time zone database's own rules."""
    lines = by_clock(zone, end=marks == "end")
    records = read(tmp_path, lines, time={**LOCAL, "marks": marks}, utc_offset_h=offset_h)
    first = str(records.problems[0])
    assert "looks like a clock with summer time, and is read as local standard: half of the year would be an hour off" in first
    assert f'type zone = "{zone}" in time of [weather_file]' in first
    backwards = read(tmp_path, lines[::-1], time={**LOCAL, "marks": marks}, utc_offset_h=offset_h)
    assert str(backwards.problems[0]) == first
    mended = read(tmp_path, lines, time={"column": "time", "zone": zone})
    assert not any("summer time, and" in text for text in said(mended, "time"))


def test_no_zone_of_ours_is_no_wrong_proposal(tmp_path):
    """A winter offset that does not go with the change: the note stands before all others, with an example and no claim."""
    lines = ["2012-12-31 23:00,1,80,calm,9000,0", *by_clock("Europe/Berlin")]
    first = str(read(tmp_path, lines, utc_offset_h=7.0).problems[0])
    assert 'type the place\'s zone, such as zone = "Europe/Berlin", in time' in first


def test_gaps_and_doubled_rows_alone_are_no_summer_time(tmp_path):
    """A winter clock, gaps on Sundays in spring, rows that were written twice: what any file has."""
    plain = hours_of_2013("%Y-%m-%d %H:%M")
    night = next(k for k, each in enumerate(plain) if each.startswith("2013-03-31 02:00"))
    gap = [*plain[:night], *plain[night + 1 :]]
    autumn = next(k for k, each in enumerate(gap) if each.startswith("2013-10-27 02:00"))
    many = sorted([*gap, *gap[100:120], gap[autumn]])
    for lines in (plain, gap, sorted([*plain, gap[autumn]]), many):
        assert not any("summer time" in text for text in said(read(tmp_path, lines), "time"))
    assert any("summer time" in text for text in said(read(tmp_path, sorted([*gap, gap[autumn]])), "time"))


def test_missing_doubled_and_unreadable_hours(tmp_path):
    lines = [
        "2013-06-01 00:00,1,80,2,9000,0",
        "2013-06-01 01:00,2,,2,9000,0",
        "2013-06-01 01:00,9,70,2,9000,0",
        "sometime,5,80,2,9000,0",
        "2013-06-01 04:00,5,80,2,9000,0",
    ]
    records = read(tmp_path, lines)
    assert np.array_equal(records.values["air_temperature_c"], [1, 2, np.nan, np.nan, 5], equal_nan=True)
    assert records.values["relative_humidity"][1] == pytest.approx(0.7)
    assert said(records, "time") == [
        "line 5: time sometime: is no time; the row is left out",
        "line 4: time 2013-06-01T01:00:00 stands in line 3 already: an hour given twice; the first row counts, "
        "gaps in it are filled",
        "the file: time 2 of 5 hours: the file has no row for them; they are unknown",
    ]


def test_rows_in_any_order(tmp_path):
    lines = [f"2013-06-01 0{k}:00,{k},80,2,9000,0" for k in (3, 0, 2, 1)]
    assert read(tmp_path, lines).values["air_temperature_c"].tolist() == [0, 1, 2, 3]


def test_a_file_told_backwards_keeps_the_same_row_of_an_hour(tmp_path):
    """Several reports an hour now and then: the first of the hour counts, whichever way the file runs."""
    lines = ["2013-06-01 00:00,1", "2013-06-01 01:05,2", "2013-06-01 01:50,3", "2013-06-01 02:00,4", "2013-06-01 03:00,5"]
    lines = [f"{line},80,2,9000,0" for line in lines]
    for each in (lines, lines[::-1]):
        assert read(tmp_path, each).values["air_temperature_c"].tolist() == [1, 2, 4, 5]


def test_a_record_of_uneven_years_says_so(tmp_path):
    hours = np.datetime64("2012-01-01T00") + np.arange(0, 13_200)
    records = read(tmp_path, [f"{h}:00,5,80,2,9000,0" for h in hours])
    assert said(records, "time") == ["the file: time 1.5 years: not whole years: some months count once more than others"]
    assert not said(read(tmp_path, [f"{h}:00,5,80,2,9000,0" for h in hours[:8784]]), "time")


def test_a_mistyped_year_is_one_report(tmp_path):
    lines = [f"2013-06-15 {k:02}:00,1,80,2,9000,0" for k in range(12)]
    lines[7] = lines[7].replace("2013", "2130")
    assert "more than 100 years; look for a mistyped year" in report(tmp_path, lines)


def test_a_typical_year_in_utc_turns_round_its_ends(tmp_path):
    """Months of different years, in UTC: the last hour of December in UTC is the first of January in local time."""
    years = [2010, 2006, 2012, 2007, 2008, 2015, 2009, 2011, 2013, 2006, 2010, 2014]
    hours = np.datetime64("2001-01-01T00") + np.arange(8760)
    lines = [f"{years[int(str(h)[5:7]) - 1]}{str(h)[4:]}:00,{k},80,2,9000,0" for k, h in enumerate(hours)]
    columns = {**PLAIN, "air_temperature": {"column": "temp", "unit": "K"}, "snow_depth": {"column": "temp", "unit": "mm"}}
    records = read(tmp_path, lines, time={"column": "time", "zone": "UTC"}, columns=columns, utc_offset_h=1.0)
    assert len(records.time) == 8760 and str(records.time[0]) == "2023-01-01T00:00:00"
    np.testing.assert_allclose(1000.0 * records.values["snow_depth_m"], np.roll(np.arange(8760), 1), rtol=1e-12)
    assert records.source.endswith("a typical year put together from 2006 to 2015")


# ------------------------------------------------------------------------------------------------ values


def test_every_unit_by_a_value_that_is_known():
    """Definitions: international foot, mile, inch, nautical mile; one atmosphere is 29.9213 inHg, 760 mmHg; okta is an eighth."""
    known = {
        "air_temperature": {"degC": (20, 20.0), "degF": (-40, -40.0), "K": (273.15, 0.0)},
        "relative_humidity": {"percent": (85, 0.85), "fraction": (0.85, 0.85)},
        "wind": {"m/s": (1, 1.0), "km/h": (3.6, 1.0), "mph": (1, 0.44704), "kn": (3600, 1852.0)},
        "visibility": {"m": (1, 1.0), "km": (1, 1000.0), "mi": (1, 1609.344), "ft": (1, 0.3048)},
        "rain": {"mm": (1, 1.0), "mm/h": (1, 1.0), "cm": (1, 10.0), "in": (1, 25.4), "in/h": (1, 25.4)},
        "snow_depth": {"m": (1, 1.0), "cm": (1, 0.01), "mm": (1, 0.001), "in": (1, 0.0254), "ft": (1, 0.3048)},
        "cloud": {"percent": (50, 0.5), "fraction": (0.5, 0.5), "okta": (4, 0.5), "tenth": (5, 0.5)},
        "pressure": {
            "hPa": (1013.25, 1013.25),
            "mbar": (1013.25, 1013.25),
            "Pa": (101_325, 1013.25),
            "kPa": (101.325, 1013.25),
            "inHg": (29.9213, 1013.25),
            "mmHg": (760.0, 1013.25),
        },
        "global_radiation": {"W/m2": (1, 1.0), "Wh/m2": (1, 1.0), "kJ/m2": (3.6, 1.0), "MJ/m2": (3.6, 1000.0)},
        "weather_code": {"code": (1, 1.0)},
    }
    same = {"dew_point": "air_temperature", "snow": "rain", "precipitation": "rain", "ceiling": "visibility"}
    same |= {"direct_radiation": "global_radiation", "diffuse_radiation": "global_radiation"}
    for name, measure in MEASURES.items():
        table = known[same.get(name, name)]
        assert set(table) == set(measure.units), name
        for unit, (told, value) in table.items():
            assert in_record_units(name, unit, float(told)) == pytest.approx(value, rel=2e-6, abs=1e-9), (name, unit)


def test_missing_precipitation_is_not_zero(tmp_path):
    lines = [f"2013-06-01 0{k}:00,9,80,2,9000,{rain}" for k, rain in enumerate(["0", "", "0.0", "NA", "1.2", "-9999.0"])]
    rain = read(tmp_path, lines, missing=[-9999]).values["precipitation_mm_h"]
    assert np.array_equal(rain, [0, np.nan, 0, np.nan, 1.2, np.nan], equal_nan=True)


def test_a_trace_is_wet(tmp_path):
    inches = {**PLAIN, "precipitation": {"column": "rain", "unit": "in"}}
    records = read(tmp_path, ["2013-06-01 00:00,9,80,2,9000,T"], columns=inches)
    assert records.values["precipitation_mm_h"][0] == pytest.approx(0.05)
    assert "a trace, less than can be measured; taken as 0.05 mm (1 rows)" in said(records, "precipitation_mm_h")[0]


def test_marks_of_a_files_own_are_missing_without_a_word(tmp_path):
    lines = ["2013-06-01 00:00,999.90,80,2,9000,0", "2013-06-01 01:00,9,X,2,9000,0"]
    records = read(tmp_path, lines, missing=[999.9, "X"])
    assert np.isnan(records.values["air_temperature_c"][0]) and np.isnan(records.values["relative_humidity"][1])
    assert records.problems == ()


def test_what_is_no_number_is_reported_and_missing(tmp_path):
    lines = ["2013-06-01 00:00,9*,80,2,9000,0.05s", "2013-06-01 01:00,inf,80,2,9000,0"]
    records = read(tmp_path, lines)
    assert np.all(np.isnan(records.values["air_temperature_c"])) and np.isnan(records.values["precipitation_mm_h"][0])
    assert said(records, "air_temperature_c") == [
        "line 2: air_temperature_c 9*: is no number; taken as missing",
        "line 3: air_temperature_c inf: is no number; taken as missing",
    ]


def test_humidity_from_the_dew_point_alone(tmp_path):
    columns = {**PLAIN, "dew_point": {"column": "rh", "unit": "degC"}}
    del columns["relative_humidity"]
    records = read(tmp_path, ["2013-06-01 00:00,10,5,2,9000,0", "2013-06-01 01:00,10,14,2,9000,0"], columns=columns)
    assert records.values["relative_humidity"][0] == pytest.approx(0.710, abs=0.002)
    assert np.isnan(records.values["relative_humidity"][1])
    assert said(records, "dew_point_c") == ["line 3: dew_point_c 14.0: does not go with air at 10.0 C; humidity is unknown"]


def test_semicolons_and_decimal_commas(tmp_path):
    records = read(tmp_path, ["2013-06-01 00:00;9,5;80;2,5;9000;0,2"], heading="time;temp;rh;wind;vis;rain")
    told = {name: float(records.values[name][0]) for name in ("air_temperature_c", "wind_m_s", "precipitation_mm_h")}
    assert told == {"air_temperature_c": 9.5, "wind_m_s": 2.5, "precipitation_mm_h": 0.2}


def test_present_weather_is_kept_as_text(tmp_path):
    columns = {**PLAIN, "weather_code": {"column": "code"}}
    lines = ["2013-06-01 00:00,9,80,2,9000,0,-RA BR", "2013-06-01 02:00,9,80,2,9000,0,05"]
    records = read(tmp_path, lines, heading="time,temp,rh,wind,vis,rain,code", columns=columns)
    assert records.weather_codes.tolist() == ["-RA BR", "", "05"]


def test_a_heading_that_is_not_there_is_named_with_its_key(tmp_path):
    refused = report(tmp_path, ["2013-06-01 00:00,9,80,2,9000,0"], columns={**PLAIN, "wind": {"column": "wnd", "unit": "m/s"}})
    assert refused.endswith(
        '[weather_file] columns wind column = "wnd" is not allowed: did you mean "wind"? a heading of the file: '
        '"time", "temp", "rh", "wind", "vis", "rain"'
    )


def test_an_empty_table_is_one_report(tmp_path):
    assert report(tmp_path, []).endswith("made.csv: this file has no rows of weather")
    (tmp_path / "made.csv").write_text("")
    with pytest.raises(InputError, match="cannot be read as a CSV file"):
        read_records(tmp_path / "made.csv", "csv", WeatherFile(path="x.csv", columns=PLAIN, time=LOCAL, utc_offset_h=0.0))
