"""TMY3 files: the two that pvlib carries (one of them with many holes), against pvlib's own reading."""

import numpy as np
import pytest
from pvlib.iotools import read_tmy3

from fencecast.errors import InputError
from fencecast.meteorology.records.reading import read_records
from meteorology.records.hourly_records import FULL, HOLES, said

SAME = [
    ("air_temperature_c", "temp_air", 1.0),
    ("relative_humidity", "relative_humidity", 0.01),
    ("wind_m_s", "wind_speed", 1.0),
    ("visibility_m", "Hvis (m)", 1.0),
    ("cloud", "TotCld (tenths)", 0.1),
    ("pressure_hpa", "pressure", 1.0),
    ("ghi_w_m2", "ghi", 1.0),
    ("dni_w_m2", "dni", 1.0),
    ("dhi_w_m2", "dhi", 1.0),
]


@pytest.fixture(scope="module", params=[FULL, HOLES], ids=lambda path: path.name)
def pair(request):
    return read_records(request.param, "tmy3"), *read_tmy3(request.param)


def test_equal_to_the_librarys_own_reading_where_not_missing(pair):
    """Would catch a swapped column, a wrong factor, or a row out of place."""
    records, library, place = pair
    for name, column, factor in SAME:
        told = library[column].to_numpy(dtype=float)
        told = np.where(told == -9900, np.nan, factor * told)
        if name == "visibility_m":
            told = np.where(told == 0.0, 0.5 * np.nanmin(told[told > 0.0]), told)  # under the smallest step
        np.testing.assert_allclose(records.values[name], told, rtol=1e-12, err_msg=name)
    assert (records.latitude, records.longitude) == (place["latitude"], place["longitude"])
    assert (records.utc_offset_h, records.elevation_m) == (place["TZ"], place["altitude"])


def test_times_01_00_to_24_00_end_their_hour(pair):
    """The library's index is the end of the hour; months, days and hours of ours are an hour earlier, in one year."""
    records, library, _ = pair
    assert len(records.time) == 8760 and np.all(np.diff(records.time) == np.timedelta64(1, "h"))
    start = library.index.tz_localize(None) - np.timedelta64(1, "h")
    mine = records.time.astype("datetime64[M]").astype(int) % 12 + 1, (records.time.astype("datetime64[h]").astype(int)) % 24
    # pvlib moves what ends on 29 February, the last hour of 28 February, to 1 March.
    moved = np.zeros(8760, dtype=bool)
    moved[59 * 24 - 1] = True
    assert np.array_equal(mine[0][~moved], start.month.to_numpy()[~moved])
    assert np.array_equal(mine[1], start.hour.to_numpy())


def test_a_typical_year_mixes_years_and_stays_one(pair):
    records, _, _ = pair
    assert str(records.time[0]) == "2023-01-01T00:00:00" and str(records.time[-1]) == "2023-12-31T23:00:00"
    assert "a typical year put together from 19" in records.source


def test_minus_9900_is_missing(pair):
    """Sand Point's visibility has 2,987 hours without a value; read as numbers they would be -9.9 km."""
    records, library, _ = pair
    gone = (library["Hvis (m)"] == -9900).to_numpy()
    assert np.array_equal(np.isnan(records.values["visibility_m"]), gone)
    if gone.any():
        assert said(records, "visibility_m") == ['the file: visibility_m -9900, or source "?": stands for missing (2,987 rows)']


def test_a_zero_with_source_unknown_is_missing_too(tmp_path):
    path = tmp_path / "made.csv"
    lines = FULL.read_text().splitlines()
    parts = lines[2].split(",")
    parts[47] = "?"  # source of the wind
    parts[40] = "-9900"  # the pressure, whose source says nothing
    path.write_text("\n".join([*lines[:2], ",".join(parts), *lines[3:]]))
    records = read_records(path, "tmy3")
    for name in ("wind_m_s", "pressure_hpa"):
        assert np.isnan(records.values[name][0]) and np.isfinite(records.values[name][1])
        assert said(records, name) == [f'the file: {name} -9900, or source "?": stands for missing (1 rows)']


def test_ceiling_77777_is_no_ceiling(pair):
    records, library, _ = pair
    told = library["CeilHgt (m)"].to_numpy(dtype=float)
    assert np.array_equal(np.isposinf(records.values["ceiling_m"]), told == 77777)
    assert np.nanmax(records.values["ceiling_m"][told != 77777]) < 30_000


def test_tenths_of_millimetres_under_a_heading_of_millimetres(pair):
    """Greensboro gets about 1,080 mm a year (its climate normals; from memory): the column adds up to 8,345 "mm".

    Light rain is up to 2.5 mm/h by definition (EPW data dictionary, weather codes), and such hours (code 61) would have 3.9 "mm".
    """
    records, library, _ = pair
    rain = records.values["precipitation_mm_h"]
    assert "not millimetres but tenths" in " ".join(said(records, "precipitation_mm_h"))
    if records.latitude == 36.1:
        told = library["Lprecip depth (mm)"].to_numpy(dtype=float)
        np.testing.assert_allclose(rain, 0.1 * told)
        assert 500.0 < rain.sum() < 1600.0
        light = records.weather_codes == "61"
        assert rain[light].mean() < 2.5 < told[light].mean()
    else:
        # No station measures ninety metres a year; nine in ten hours have no gauge reading at all.
        assert np.nansum(rain) / np.isfinite(rain).mean() < 5000.0
        assert "gathered over several hours" in said(records, "precipitation_mm_h")[-1]


@pytest.mark.parametrize(
    "depth_of",
    [lambda k: 0.3 + 0.1 * (k % 40), lambda k: 1 + k % 8, lambda k: 3 if k < 20 else 0],
    ids=["decimals", "whole millimetres of rain", "too few to tell"],
)
def test_millimetres_stay_millimetres(tmp_path, depth_of):
    """Every seventh hour is wet. Whole millimetres fall on gauge steps of 0.01 inch in tenths (3, 5, 8 ...) in 4 of 10 cases."""
    lines = FULL.read_text().splitlines()
    told = np.array([depth_of(k // 7) if k % 7 == 0 else 0.0 for k in range(8760)])
    made = [",".join([*row[:64], f"{depth:g}", *row[65:]]) for row, depth in zip((r.split(",") for r in lines[2:]), told)]
    (tmp_path / "made.csv").write_text("\n".join([*lines[:2], *made]))
    np.testing.assert_allclose(read_records(tmp_path / "made.csv", "tmy3").values["precipitation_mm_h"], told, atol=1e-6)


def test_visibility_cap_is_found(pair):
    """Greensboro's observers looked for 15 miles (24.1 km) at most, Sand Point's instrument ends at 10 miles (16.1 km)."""
    records, _, _ = pair
    cap_km = records.visibility_cap_m / 1000.0
    assert cap_km == pytest.approx(24.0 if records.latitude == 36.1 else 16.1)


def test_unlimited_visibility_is_a_distance(tmp_path):
    path = tmp_path / "made.csv"
    lines = FULL.read_text().splitlines()
    parts = lines[5].split(",")
    parts[49] = "77777"
    path.write_text("\n".join([*lines[:5], ",".join(parts), *lines[6:]]))
    records = read_records(path, "tmy3")
    assert records.values["visibility_m"][3] == 32_200.0
    assert any("its code for unlimited: taken as 32,200 m (1 rows)" in text for text in said(records, "visibility_m"))


def test_codes_have_two_digits_and_a_file_without_them_has_none(pair):
    records, library, _ = pair
    if "PresWth (METAR code)" in library:
        told = library["PresWth (METAR code)"].to_numpy(dtype=int)
        assert [int(code) for code in records.weather_codes] == told.tolist()
        assert {len(code) for code in records.weather_codes} == {2}
    else:
        assert records.weather_codes is None


def test_29_february_stays_where_it_is(tmp_path):
    """pvlib moves it to 1 March, onto hours that are there already; a file of one real leap year has it."""
    lines = FULL.read_text().splitlines()
    made = []
    for line in lines[2:]:
        made.append(line[:6] + "2004" + line[10:])
    leap = [line.replace("02/28/2004", "02/29/2004") for line in made[58 * 24 : 59 * 24]]
    path = tmp_path / "made.csv"
    path.write_text("\n".join([*lines[:2], *made[: 59 * 24], *leap, *made[59 * 24 :]]))
    records = read_records(path, "tmy3")
    assert len(records.time) == 8784 and str(records.time[60 * 24 - 1]) == "2004-02-29T23:00:00"
    assert np.array_equal(
        records.values["air_temperature_c"][59 * 24 : 60 * 24], records.values["air_temperature_c"][58 * 24 : 59 * 24]
    )
    assert not said(records, "time")


def test_what_is_no_tmy3_file_is_one_report(tmp_path):
    path = tmp_path / "made.csv"
    for text in ("time,temp\n2001-01-01 00:00,4\n", "\n".join(FULL.read_text().splitlines()[1:20])):
        path.write_text(text)
        with pytest.raises(InputError) as caught:
            read_records(path, "tmy3")
        assert str(caught.value).startswith(f"{path}: this cannot be read as a TMY3 file (a line of place, a line of headings")


def test_a_place_that_is_cut_short_is_told_in_words(tmp_path):
    """Catches: the bare text of a KeyError, 'altitude' in quotes."""
    path = tmp_path / "made.csv"
    path.write_text('723170,"NOWHERE",NC\nDate (MM/DD/YYYY),Time (HH:MM)\n01/01/1988,01:00\n')
    with pytest.raises(InputError, match=r"one row an hour\): altitude is missing; if it is another kind"):
        read_records(path, "tmy3")
