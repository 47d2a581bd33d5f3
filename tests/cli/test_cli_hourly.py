"""Commands that decide, on a site with an hourly record: `compare`, `run --remedy`, `run --lose-each`, `place`.

The record is written here: a week of clear nights in June, a week of thick fog, a week of rain, armed 12 hours of 24. So every
class and its hours are known beforehand, and none of them is in the site file.
"""

import json
import os
from datetime import datetime, timedelta

import numpy as np
import pytest
from command_line import CAUTION, HOURLY, MOUNTING, flat, typed

import fencecast as fc
from fencecast.cli.sitefile import seen_from
from fencecast.decide.compare.designs import compare
from fencecast.decide.compare.variants import classes_at_the_same_hours, table_variants
from fencecast.kernels.pack_weather import pack_weather
from fencecast.kernels.types import GROUND_MINUS_AIR_K
from fencecast.meteorology.load import classes_of, load_year
from fencecast.meteorology.records import reading

# Air [C] by night, humidity [%], cloud [okta], visibility [m], rain [mm/h]; a week each.
CLEAR, FOG, RAIN = (12.0, 60, 0, 20_000, 0.0), (8.0, 99, 8, 80, 0.0), (8.0, 90, 8, 4000, 2.0)
SECOND = """
[[camera]]
mark = "C2"
position_m = [26.0, 2.0]
height_m = 4.0
aim_m = [6.0, 0.0]
sensor = "core"
lens = "long"
depends_on = "east mast"
"""
SAME = """
[[variant]]
name = "the same again"
change.camera.C1.lens = "long"

[[variant]]
name = "one camera"
without = ["C2"]
"""
TURNED = HOURLY.replace("aim_m = [6.0, 0.0]", "bearing_deg = 300.0\ndepression_deg = 12.0")
COARSE = ("--precision", "0.1", "--max-crossings", "128", "--no-pictures", "--json")
FEW = ("--candidates", "16", "--crossings", "16", "--precision", "0.1", "--no-pictures", "--json")


def record_of(*weeks) -> str:
    rows = ["time,air_c,humidity_percent,wind_m_s,cloud_okta,visibility_m,rain_mm,snow_mm"]
    for hour in range(7 * 24 * len(weeks)):
        time = datetime(2031, 6, 1) + timedelta(hours=hour)
        air, humidity, cloud, visibility, rain = weeks[hour // (7 * 24)]
        warm = 4.0 if 6 <= time.hour < 18 else 0.0
        rows.append(f"{time:%Y-%m-%d %H:%M},{air + warm:.1f},{humidity},1.0,{cloud},{visibility},{rain},0.0")
    return "\n".join(rows) + "\n"


@pytest.fixture
def weeks(yard):
    (yard / "autumn.csv").write_text(record_of(CLEAR, FOG, RAIN))
    (yard / "hourly.toml").write_text(HOURLY + SECOND)
    (yard / "variants.toml").write_text(HOURLY + SECOND + SAME)
    (yard / "turned.toml").write_text(TURNED + MOUNTING)
    return yard


def hours_of(weather, year) -> float:
    return weather.hours_per_year * year.period_years


def test_equal_designs_of_an_hourly_site_differ_by_nothing(weeks):
    """Catches: another draw of hours for a variant; classes that are not the record's; a lost camera that changes nothing."""
    ended = typed("compare", "variants.toml", *COARSE[:-1])
    assert ended.code == 0, ended.err
    year = load_year(fc.load_site("variants.toml"))
    hours = {c.name: hours_of(c, year) for c in classes_of(fc.load_site("variants.toml"))}
    assert {"dense fog", "rain", "clear"} <= set(hours) and hours["dense fog"] == hours["rain"] == pytest.approx(84.0)
    assert sum(hours.values()) == pytest.approx(252.0)
    assert "Record: autumn.csv" in ended.out and CAUTION in flat(ended.out)
    assert all(sum(line.startswith(f"{name} ") for line in ended.out.splitlines()) == 2 for name in hours), "a row a comparison"
    results = fc.open_results("variants-compare/compare.nc")
    assert results["weather"].values.tolist() == list(hours)
    for name, found in zip(hours, results["weather_hours"].values):
        assert found * results.attrs["period_years"] == pytest.approx(hours[name])
    assert "autumn.csv" in results.attrs["weather_source"]
    same, without = results["pd_difference"].values
    assert np.all(same == 0.0) and np.all(results["pd_distance_difference"].values[0] == 0.0)
    assert np.all(without <= 0.0) and np.any(without < 0.0)


def test_both_designs_see_the_same_hours_whatever_the_ground(weeks):
    """Catches: hours sorted by each design's own contrasts. On grass no hour of this record is near crossover, on gravel some
    are: the classes would not be the same, and the clear hours not the same hours."""
    (weeks / "grass.toml").write_text((HOURLY + SECOND).replace('"gravel"', '"grass"'))
    gravel, grass = (fc.load_site(name) for name in ("hourly.toml", "grass.toml"))
    assert "near crossover" in {c.name for c in classes_of(gravel)} - {c.name for c in classes_of(grass)}
    ours, theirs = classes_of(gravel), classes_at_the_same_hours(gravel, grass)
    assert [c.name for c in ours] == [c.name for c in theirs]
    for mine, other in zip(ours, theirs):
        assert mine.hours_per_year == other.hours_per_year and set(mine.states.hour) == set(other.states.hour)
    clear = [{c.name: c.states for c in classes}["clear"].ground_minus_air_k for classes in (ours, theirs)]
    assert abs(np.mean(clear[0]) - np.mean(clear[1])) > 1.0, "its own ground all the same"
    drawn = []
    for site, classes in ((gravel, ours), (grass, theirs)):
        packed = pack_weather(site, classes)
        hour_of = {ground: hour for c in classes for ground, hour in zip(c.states.ground_minus_air_k, c.states.hour)}
        drawn.append([hour_of[ground] for ground in packed.quantity[:, GROUND_MINUS_AIR_K, 1]])
    assert len(set(drawn[0])) > 50 and drawn[0] == drawn[1], "a draw finds the same hour in both designs"
    ended = typed("compare", "hourly.toml", "grass.toml", *COARSE)
    assert ended.code == 0, ended.err
    found = {c["name"]: c["hours"] for c in json.loads(ended.out)["comparisons"][0]["classes"]}
    assert found == {c.name: pytest.approx(c.hours_per_year) for c in ours}


def test_three_weeks_are_given_as_three_weeks(weeks):
    """Catches: 84 hours of fog printed as 1,461 h/yr, in the tables of a run, of its stress and of a comparison."""
    ran = typed("run", "hourly.toml", "--weather", "dense fog", *COARSE[:-1])
    stressed = typed("run", "hourly.toml", "--stress", "visibility_m<=100", "--force", *COARSE[:-1])
    compared = typed("compare", "variants.toml", "--weather", "dense fog", *COARSE[:-1])
    for ended in (ran, stressed, compared):
        assert ended.code == 0, ended.err
        assert "h/yr" not in ended.out and "a year" not in ended.out and "1,461" not in ended.out
        lines = ended.out.splitlines()
        (head, *_), (row, *_) = ([line.split() for line in lines if line.startswith(k)] for k in ("class ", "dense fog "))
        assert (head[1], row[2]) == ("hours", "84")
    assert "in all, by hours     84 " in compared.out
    assert "Stress: 84 of 252 armed hours of the record have visibility_m<=100" in " ".join(stressed.out.split())


def test_a_record_is_read_once_for_a_job(weeks, monkeypatch):
    """Catches: variants of a table that look for the record where they were typed; a design, loss or remedy that reads again."""
    read = []
    real = reading.read_site_records
    monkeypatch.setattr(reading, "read_site_records", lambda site: read.append(site.weather_path) or real(site))
    results = compare(*table_variants(fc.load_site("variants.toml")), precision=0.1, max_crossings=64, threads=1)
    assert results["weather_hours"].values.sum() * results.attrs["period_years"] == pytest.approx(252.0)
    assert len(read) == 1
    for words in (
        ("run", "hourly.toml", "--lose-each", "camera", "--remedy", "--stress", "visibility_m<=100", "-o", "once"),
        ("compare", "variants.toml", "-o", "once-compared"),
    ):
        read.clear()
        assert typed(*words, *COARSE).code == 0 and len(read) == 1, words


def test_the_same_path_in_another_folder_is_another_record(weeks):
    """Catches: the base's hours taken for those of a design whose file lies elsewhere; a copy of the record refused."""
    (weeks / "after").mkdir()
    (weeks / "after" / "hourly.toml").write_text(HOURLY + SECOND)
    ended = typed("compare", "hourly.toml", "after/hourly.toml", *COARSE)
    assert (ended.code, ended.out) == (2, "") and ended.err.endswith('[weather_file] path "autumn.csv" is not there\n')
    (weeks / "after" / "autumn.csv").write_text(record_of(CLEAR, CLEAR, RAIN))
    ended = typed("compare", "hourly.toml", "after/hourly.toml", *COARSE)
    assert (ended.code, ended.out) == (2, "") and ended.err.endswith('[weather_file] path "autumn.csv" is another record\n')
    assert not list(weeks.glob("*-compare"))
    (weeks / "after" / "autumn.csv").write_text(record_of(CLEAR, FOG, RAIN))
    ended = typed("compare", "hourly.toml", "after/hourly.toml", *COARSE)
    assert ended.code == 0, ended.err
    assert np.all(fc.open_results("hourly-compare/compare.nc")["pd_difference"].values == 0.0)


@pytest.mark.parametrize(
    ("before", "after", "said"),
    [
        ('hours = ["18:00-06:00"]', 'hours = ["20:00-06:00"]', "[armed] differs"),
        ("least_share = 0.05", "least_share = 0.04", "[weather_file] differs"),
        ("latitude = 54.0", "latitude = 50.0", "latitude and longitude of [site] differ"),
    ],
)
def test_records_read_otherwise_are_not_compared(weeks, before, after, said):
    (weeks / "other.toml").write_text((HOURLY + SECOND).replace(before, after))
    ended = typed("compare", "hourly.toml", "other.toml", *COARSE)
    assert (ended.code, ended.out) == (2, "") and ended.err.endswith(f'  "other": {said}\n')


def test_every_loss_is_listed_by_the_classes_of_the_record(weeks):
    """Catches: losses of classes that the site file would have to describe; a stress that the losses forget, so that
    they meet the other foggy hours of the class as well."""
    (weeks / "autumn.csv").write_text(record_of(CLEAR, FOG, (*FOG[:3], 150, FOG[4])))
    ended = typed("run", "hourly.toml", "--lose-each", "depends_on", "--stress", "visibility_m<=100", *COARSE)
    assert ended.code == 0, ended.err
    said = json.loads(ended.out)
    assert sorted(loss["loss"] for loss in said["losses"]) == ["C1", "east mast"]
    results = fc.open_results("hourly-results/results.nc")
    assert results["weather"].values.tolist() == ["dense fog"] and results["pd_loss"].dims == ("loss", "weather", "segment")
    # What is left after C1 is what C2 does alone, on the same crossings of the same hours; the sum over what both cameras share
    # (DEVELOPERS, equal steps in z) leaves some 1e-8.
    alone = results["pd_camera"].sel(camera="C2", weather="dense fog").values
    assert results["pd_loss"].sel(loss="C1", weather="dense fog").values == pytest.approx(alone, abs=1e-6)
    assert np.all(results["pd_loss_change"].values <= 0.0)


def test_a_remedy_names_a_class_of_the_record(weeks):
    """Catches: a remedy that asks the site file for classes, or that looks at hours in which nothing is armed."""
    ended = typed("run", "turned.toml", "--remedy", "--weather", "rain", "--weather", "clear", *COARSE)
    assert ended.code == 0, ended.err
    said = json.loads(ended.out)
    assert {c["name"] for c in said["classes"]} == {"rain", "clear"}
    remedy = said["remedy"]
    assert remedy["weather"] in ("rain", "clear") and remedy["before"][0] < 0.05 < 0.5 < remedy["after"][0]


def test_a_proposal_finds_its_record_and_is_compared_with_the_site_that_it_mends(weeks):
    """Catches: a path as it was typed for another folder; the first thing that anybody does with a proposal refused, because its
    record is named otherwise than the site's."""
    ended = typed("place", "turned.toml", *FEW, "--weather", "dense fog")
    assert ended.code == 0, ended.err
    said = json.loads(ended.out)
    assert {step["weather"] for step in said["front"]} == {"dense fog"} and said["weakest"]["weather"] == "dense fog"
    proposal = fc.load_site("turned-placed/proposal.toml")
    assert proposal.weather_file.path == "../autumn.csv"
    assert load_year(proposal).records.source == load_year(fc.load_site("turned.toml")).records.source
    ended = typed("compare", "turned.toml", "turned-placed/proposal.toml", "--weather", "dense fog", *COARSE)
    assert ended.code == 0, ended.err
    assert json.loads(ended.out)["comparisons"][0]["classes"][0]["better_m"] == 12.0


def test_a_record_is_named_from_the_folder_of_the_proposal(weeks):
    """Catches: a `..` that leads up from a link instead of from where it points; an absolute path that is made a relative one."""
    (weeks / "far" / "away").mkdir(parents=True)
    os.symlink(weeks / "far" / "away", weeks / "linked", target_is_directory=True)
    for folder in (weeks / "elsewhere" / "deep", weeks / "linked" / "deep", weeks):
        folder.mkdir(parents=True, exist_ok=True)
        seen = seen_from(fc.load_site("turned.toml"), folder).weather_file.path
        assert not os.path.isabs(seen) and (folder / seen).samefile("autumn.csv")
    absolute = (weeks / "autumn.csv").as_posix()
    (weeks / "turned.toml").write_text((TURNED + MOUNTING).replace('"autumn.csv"', f'"{absolute}"'))
    assert seen_from(fc.load_site("turned.toml"), weeks / "linked").weather_file.path == absolute


def test_what_a_lens_holds_is_asked_again_when_the_hours_change(weeks):
    """Catches: distances of yesterday's record, in one process, for another with as many hours of each class."""
    from fencecast.decide.place.kit import kit_of
    from fencecast.decide.place.reach import pd_by_distance

    found = []
    for fog in (FOG, (*FOG[:3], 15, FOG[4])):
        (weeks / "autumn.csv").write_text(record_of(CLEAR, fog, RAIN))
        site = fc.load_site("turned.toml")
        classes = [c for c in classes_of(site) if c.name == "dense fog"]
        found.append(pd_by_distance(site, kit_of(site).choices[0], (4.0,), classes, seed=1)[1])
    assert found[1].mean() < 0.8 * found[0].mean()
