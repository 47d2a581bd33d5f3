"""`fencecast weather`: a record's hours listed and drawn, its holes named, and nothing written when it cannot be used."""

import json
import os
from importlib.resources import files

import pytest
from command_line import CAUTION, HOURLY, errors_of, flat, typed

import fencecast as fc
from fencecast.meteorology.sorting import NAMES, WORDS


@pytest.fixture
def autumn(yard):
    """Thirty days of October of the invented year, one wind of 120 m/s in line 50."""
    lines = (files("fencecast") / "examples" / "marsh-depot-weather.csv").read_text(encoding="utf-8").splitlines()
    days = [line for line in lines if line.startswith("2031-10-")][: 24 * 30]
    cells = days[48].split(",")
    days[48] = ",".join([*cells[:3], "120.0", *cells[4:]])
    (yard / "autumn.csv").write_text("\n".join([lines[0], *days]) + "\n")
    (yard / "hourly.toml").write_text(HOURLY)
    return yard


def test_the_object_holds_the_hours_and_the_table_every_class_of_it(autumn):
    """Catches: classes that do not add up, a class left out of the table, an impossible value that is not named with its line."""
    ended = typed("weather", "hourly.toml", "--json")
    assert ended.code == 0 and errors_of(ended) == []
    said = json.loads(ended.out, parse_constant=lambda word: pytest.fail(f"{word} is not JSON"))
    hours = said["hours"]
    assert (hours["record"], hours["armed"], hours["known"]) == (720, 360, 360)
    assert sum(each["hours"] for each in said["classes"]) == 360
    assert [each["name"] for each in said["classes"]] == [name for name in NAMES if name in {c["name"] for c in said["classes"]}]
    fog = [each for each in said["classes"] if "fog" in each["name"]]
    assert fog and all(each["median_visibility_m"] < 1000.0 for each in fog)
    wind = [problem for problem in said["problems"] if problem["field"] == "wind_m_s"]
    assert [problem["row"] for problem in wind] == [50] and "120.0" in wind[0]["value"]
    assert said["caution"] == CAUTION and said["files"][0] == os.path.join("hourly-weather", "weather.png")
    assert sorted(os.listdir("hourly-weather")) == ["manifest.json", "weather.png"]

    table = typed("weather", "hourly.toml", "--force")
    assert table.code == 0 and flat(table.out).endswith(CAUTION)
    for each in said["classes"]:
        assert any(line.startswith(each["name"] + " ") and f" {each['hours']} " in line for line in table.out.splitlines())
        assert each["rule"] == WORDS[each["name"]]
    for words in (
        said["finding"],
        "Record: autumn.csv",
        "Armed: 18:00-06:00 (local standard time). Only armed hours count.",
        "720 hours in the record, 360 of them armed; enough is known of 360 (100.0 %; asked for: 5 %).",
        "line 50: wind_m_s 120.0",
        "Typical years smooth out bad fog",
    ):
        assert words in flat(table.out)
    # Thirty days are not a year.
    assert " a year" not in said["finding"] and "h/yr" not in table.out


def test_the_worked_example_is_listed_as_it_was_made(yard):
    """Catches: the example's holes and its impossible wind not seen, or its fog lost on the way."""
    assert typed("example", "marsh-depot").code == 0
    ended = typed("weather", "marsh-depot.toml", "-o", "out", "--json")
    assert ended.code == 0, ended.err
    said = json.loads(ended.out)
    lines = (yard / "marsh-depot-weather.csv").read_text(encoding="utf-8").splitlines()
    assert said["hours"] == {"record": 8760, "armed": 4380, "known": 4380 - 36, "least_share": 0.9}
    (line,) = [number for number, text in enumerate(lines, start=1) if ",310.0," in text]
    assert [(p["row"], p["field"]) for p in said["problems"] if p["row"]] == [(line, "wind_m_s")]
    assert said["visibility_cap_m"] == 20_000.0
    rows = [text.split(",") for text in lines[1:]]
    # Lacking in armed hours: the empty fields there, and the 36 armed hours of the three lost days.
    at_night = [row for row in rows if not 6 <= int(row[0][11:13]) < 18]
    for words, column in (("air temperature", 1), ("humidity", 2), ("wind", 3), ("cloud", 4), ("visibility", 5)):
        assert said["armed_hours_without"][words] == sum(row[column] == "" for row in at_night) + 36
    armed = [row for row in rows if not 6 <= int(row[0][11:13]) < 18 and row[5]]
    below = sum(int(row[5]) < 1000 for row in armed)
    wet = sum(int(row[5]) < 1000 and float(row[6] or 0) + float(row[7] or 0) > 0 for row in armed)
    fog = sum(each["hours"] for each in said["classes"] if each["name"] in ("fog", "dense fog"))
    # Hours whose visibility was not measured may be filled from their neighbours.
    assert below - wet <= fog <= below + 24
    assert sum(each["hours"] for each in said["classes"]) == said["hours"]["known"]


def test_a_site_without_a_weather_file_learns_what_to_type(yard):
    ended = typed("weather", "tiny.toml")
    assert (ended.code, ended.out) == (2, "")
    assert ended.err == (
        "Error: tiny.toml has no weather file: its weather is the [[weather]] tables that it holds. To use an hourly record, "
        'take them out and type [weather_file] with path = "station.epw" (EPW, TMY3, or CSV with a column map); '
        "fencecast example marsh-depot writes a site that has one\n"
    )
    assert os.listdir(yard) == ["tiny.toml"]


def test_nothing_is_written_when_the_record_cannot_be_used(autumn):
    """Catches: an empty folder left behind, or a folder of the user's filled."""
    (autumn / "autumn.csv").unlink()
    ended = typed("weather", "hourly.toml")
    assert (ended.code, ended.out) == (2, "") and "autumn.csv" in ended.err
    assert sorted(os.listdir(autumn)) == ["hourly.toml", "tiny.toml"]


def test_a_folder_that_exists_is_used_only_with_force(autumn):
    (autumn / "mine").mkdir()
    (autumn / "mine" / "notes.txt").write_text("mine")
    ended = typed("weather", "hourly.toml", "-o", "mine")
    assert (ended.code, ended.out) == (2, "") and "mine exists already; add --force" in ended.err
    assert typed("weather", "hourly.toml", "-o", "mine", "--force").code == 0
    assert sorted(os.listdir(autumn / "mine")) == ["manifest.json", "notes.txt", "weather.png"]


def test_units_us_are_said_below(autumn):
    """Catches: Fahrenheit of a difference with the offset of a temperature."""
    (autumn / "hourly.toml").write_text(HOURLY.replace('title = "Tiny yard"', 'title = "Tiny yard"\nunits = "us"'))
    said = json.loads(typed("weather", "hourly.toml", "--json").out)
    first = said["classes"][0]
    lines = typed("weather", "hourly.toml", "--force").out.splitlines()
    (row,) = [k for k, line in enumerate(lines) if line.startswith(first["name"] + " ") and " °C" in line]
    below = lines[row + 1]
    assert f"{first['median_visibility_m'] / 0.3048:,.0f} ft" in below
    assert f"{first['median_air_temperature_c'] * 1.8 + 32:.0f} °F" in below
    assert f"{first['median_contrast_k'] * 1.8:+.1f} °F".replace("-", "−") in below


def test_the_words_for_armed_hours(autumn):
    """Catches: a time zone or the sun's limit left out."""
    from fencecast.findings.weather import armed_words

    def words(armed: str) -> str:
        return armed_words(fc.parse_site(HOURLY.split("[armed]")[0] + armed))

    assert words("") == "always"
    assert words('[armed]\nhours = ["18:00-06:00"]\ntime_zone = "UTC"\nsun_below_deg = -3') == (
        "18:00-06:00 (UTC) and sun below −3 degrees"
    )
    weekly = '[armed]\nhours = { mon-fri = ["18:00-06:00"], sat-sun = ["00:00-24:00"] }'
    assert words(weekly) == "mon-fri 18:00-06:00; sat-sun 00:00-24:00 (local standard time)"
