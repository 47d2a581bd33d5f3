"""Impossible values, and where the far end of visibility is."""

import numpy as np
import pytest

from fencecast.meteorology.records.limits import LIMITS, drop_impossible, drop_lone_jumps, question_lone_snow, visibility_cap_m
from fencecast.meteorology.records.reading import read_records
from fencecast.meteorology.records.rows import Rows
from fencecast.meteorology.year import RECORD_FIELDS
from meteorology.records import nycweather
from meteorology.records.epwmaker import FIELDS, write_epw


def rows_of(**values):
    count = len(next(iter(values.values())))
    start = np.datetime64("2013-01-01T00:00:00") + np.arange(count) * np.timedelta64(3600, "s")
    return Rows("made.csv", np.arange(count) + 2, start, 0.0, {k: np.array(v, dtype=float) for k, v in values.items()})


def test_every_field_has_limits():
    assert set(LIMITS) == {*RECORD_FIELDS, "dew_point_c", "ceiling_m"}


# Records of nature that must pass, from memory of the archive of the World Meteorological Organization: Vostok -89.2 C and Death
# Valley 56.7 C; dew point 35 C on the Persian Gulf; 11.8 m of snow on Mount Ibuki; 1,083.8 hPa at Agata; 305 mm of rain in 42
# minutes at Holt. The other side of each limit must not.
@pytest.mark.parametrize(
    ("name", "real", "impossible"),
    [
        ("air_temperature_c", (-89.2, 56.7), (-99.9, 99.9)),
        ("dew_point_c", (-95.0, 35.0), (-120.0, 99.9)),
        ("relative_humidity", (0.01, 1.0), (0.0, 9.99)),
        ("wind_m_s", (0.0, 70.0), (-1.0, 468.7)),
        ("visibility_m", (10.0, 160_900.0), (-9900.0, 9_999_000.0)),
        ("rain_mm_h", (0.0, 305.0), (-0.1, 999.0)),
        ("snow_mm_h", (0.0, 20.0), (-1.0, 999.0)),
        ("precipitation_mm_h", (0.0, 305.0), (-9900.0, 999.0)),
        ("snow_depth_m", (0.0, 11.8), (-0.1, 999.0)),
        ("cloud", (0.0, 1.0), (-0.1, 9.9)),
        ("ceiling_m", (0.0, 20_000.0), (-1.0, 99_999.0)),
        ("pressure_hpa", (330.0, 1083.8), (0.0, 9999.0)),
        ("ghi_w_m2", (0.0, 1300.0), (-100.0, 9999.0)),
        ("dni_w_m2", (0.0, 1361.0), (-100.0, 9999.0)),
        ("dhi_w_m2", (0.0, 700.0), (-100.0, 9999.0)),
    ],
)
def test_real_extremes_pass_and_impossible_values_are_dropped_with_row_and_value(name, real, impossible):
    rows = rows_of(**{name: [real[0], impossible[0], real[1], impossible[1]]})
    drop_impossible(rows)
    assert np.array_equal(rows.values[name], [real[0], np.nan, real[1], np.nan], equal_nan=True)
    assert [(p.row, p.field, p.value) for p in rows.notes.problems] == [(3, name, impossible[0]), (5, name, impossible[1])]
    assert all(p.why.startswith("impossible, dropped: ") for p in rows.notes.problems)


def test_a_column_of_zeros_is_no_visibility():
    """Catches: zeros that stand for missing taken for air of 20 km, so that a file without visibility has a year without fog."""
    rows = rows_of(visibility_m=[0.0, np.nan, 0.0])
    drop_impossible(rows)
    assert np.isnan(rows.values["visibility_m"]).all()
    assert [(p.field, p.value, p.why) for p in rows.notes.problems] == [
        ("visibility_m", 0.0, "zero in every row that has one: not measured; dropped (2 rows)")
    ]


def test_many_of_a_kind_are_counted():
    """A sensor that fails for a month is eleven lines of report, not seven hundred; a list that is cut still has the count."""
    rows = rows_of(wind_m_s=[999.0] * 700)
    drop_impossible(rows)
    problems = rows.notes.problems
    assert len(problems) == 11 and problems[0].row is None and problems[0].value == "700 rows, lines 2 to 701"
    assert problems[0].why.endswith("(the first 10 follow)") and [p.row for p in problems[1:]] == list(range(2, 12))


def test_manners_of_reporting_are_put_right_and_said():
    rows = rows_of(
        relative_humidity=[1.04, 0.5, 1.0],
        cloud=[9.0 / 8.0, 1.0, 0.0],
        ghi_w_m2=[-4.0, 0.0, 500.0],
        visibility_m=[0.0, 100.0, 9000.0],
        ceiling_m=[np.inf, 100.0, np.nan],
    )
    drop_impossible(rows)
    assert rows.values["relative_humidity"].tolist() == [1.0, 0.5, 1.0]
    assert rows.values["cloud"].tolist() == [1.0, 1.0, 0.0], "9 okta: the sky cannot be seen"
    assert rows.values["ghi_w_m2"].tolist() == [0.0, 0.0, 500.0], "a pyranometer reads a little below zero at night"
    assert rows.values["visibility_m"].tolist() == [50.0, 100.0, 9000.0], "0 is less than the smallest step"
    assert rows.values["ceiling_m"][0] == np.inf
    assert [p.field for p in rows.notes.problems] == ["cloud", "relative_humidity", "visibility_m"]


def test_nothing_impossible_survives_a_file_of_nonsense(tmp_path):
    """Would catch a reader that forgets the limits: random numbers of any size in every column."""
    draw = np.random.default_rng(5)
    fields = [f for f in FIELDS[6:] if f not in ("observed", "codes", "rain_hours")]
    changes = {k: {f: round(float(draw.normal() * 10 ** draw.uniform(-1, 6)), 2) for f in fields} for k in range(0, 8760, 3)}
    records = read_records(write_epw(tmp_path / "made.epw", changes=changes), "epw")
    for name in set(RECORD_FIELDS) - {"rain_mm_h", "snow_mm_h"} | {"ceiling_m"}:
        values = records.values[name]
        known = values[np.isfinite(values)]
        assert len(known) > 5000, name
        assert known.min() >= LIMITS[name].low - 1e-9 and known.max() <= LIMITS[name].high + 1e-9, name


# ------------------------------------------------------------------------------------------------ the cap of visibility


def test_no_cap_where_an_instrument_tells_all():
    """A sensor without an end (uniform in the logarithm from 100 m to 50 km) has no pile-up, whatever its resolution."""
    draw = np.random.default_rng(1)
    far = np.exp(draw.uniform(np.log(100.0), np.log(50_000.0), 8760))
    assert visibility_cap_m(far) is None
    assert visibility_cap_m(np.round(far, -2)) is None


@pytest.mark.parametrize("cap_m", [9999.0, 16_093.44, 20_000.0])
def test_the_pile_at_the_far_end_is_the_cap(cap_m):
    """9,999 m is how airport reports say ten kilometres or more; 10 miles is how American ones do."""
    draw = np.random.default_rng(2)
    far = np.exp(draw.uniform(np.log(100.0), np.log(50_000.0), 8760))
    assert visibility_cap_m(np.minimum(far, cap_m)) == cap_m


def test_a_few_values_beyond_do_not_hide_the_cap():
    """Two instruments in one record: nearly all end at 10 miles, a handful of an observer's go on."""
    far = np.concatenate([np.full(600, 16_100.0), np.full(300, 16_000.0), np.linspace(100, 15_000, 300), [40_000.0] * 20])
    assert visibility_cap_m(far) == 16_000.0


def test_a_pile_of_fog_is_no_cap():
    assert visibility_cap_m(np.concatenate([np.full(500, 100.0), np.linspace(200, 40_000, 500)])) is None


def test_no_visibility_no_cap():
    assert visibility_cap_m(np.full(10, np.nan)) is None


def test_a_temperature_that_leaps_for_one_hour_is_dropped():
    """Catches a slip that becomes a ground 17 K above the air (JFK, 8 May 2013 at 21:00: -10.5 C between 13.9 and 14.0). What
    stays: a front that cools the air for good, two odd hours in a row, a leap beside a gap, where nobody can tell."""
    rows = rows_of(air_temperature_c=[13.9, -10.5, 14.0, 14.0, -3.0, -3.5, 14.0, 14.0])
    drop_lone_jumps(rows)
    assert np.isnan(rows.values["air_temperature_c"]).tolist() == [False, True, False, False, False, False, False, False]
    assert [(p.row, p.field, p.value) for p in rows.notes.problems] == [(3, "air_temperature_c", -10.5)]
    gap = rows_of(air_temperature_c=[13.9, -10.5, 14.0])
    gap.start[2] += np.timedelta64(3600, "s")
    drop_lone_jumps(gap)
    assert not gap.notes.problems


def test_the_lone_jump_of_an_airport_is_found():
    """The public record of 2013 has exactly this one at JFK, in the evening of 8 May. Catches a rule that nothing applies."""
    records = read_records(nycweather.FILE, "csv", nycweather.options("JFK"))
    found = [p for p in records.problems if p.field == "air_temperature_c" and "hours before and after" in p.why]
    assert len(found) == 1 and "13.1 degF" in str(found[0].value)


def test_heavy_snow_in_clear_air_between_dry_hours_is_questioned():
    """29 mm/h at -7 C with 16 km of visibility, as one hour of a real record had it: a slip, kept and reported. What is not
    questioned: the same in thick air, light snow in clear air, snow among snow, rain, and hours beside a gap."""

    def questioned(snow, visibility_m=16_000.0, air_c=-7.0, name="snow_mm_h"):
        rows = rows_of(**{name: list(snow), "visibility_m": [visibility_m] * len(snow), "air_temperature_c": [air_c] * len(snow)})
        question_lone_snow(rows)
        assert rows.values[name].tolist() == list(snow)
        return [(p.row, p.field) for p in rows.notes.problems]

    assert questioned([0.0, 29.0, 0.0]) == [(3, "snow_mm_h")]
    assert questioned([0.0, 29.0, 0.0], name="precipitation_mm_h") == [(3, "precipitation_mm_h")]
    assert not questioned([0.0, 29.0, 0.0], visibility_m=100.0)
    assert not questioned([0.0, 0.5, 0.0])
    assert not questioned([0.0, 29.0, 12.0, 0.0])
    assert not questioned([0.0, 29.0, 0.0], air_c=4.0, name="rain_mm_h")
