"""A study with one hourly record: every yard and every design meets the same hours, and ranks by the mean over the armed ones."""

import json
import os
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
import xarray as xr

import fencecast as fc
from cli.command_line import HOURLY, MOUNTING, flat, typed
from decide.study.study_files import TINY, results_of
from fencecast.decide.study import record as record_module
from fencecast.decide.study.file import load_study
from fencecast.decide.study.pieces import compute_piece, piece_key, piece_site, study_pieces
from fencecast.decide.study.running import run_study
from fencecast.errors import InputError, UsageError
from fencecast.estimate.simulate import advance, new_tally
from fencecast.findings.standings import span_words, winner_sentence
from fencecast.hours.states import state_cells
from fencecast.kernels.crossing import SUM_PD
from fencecast.kernels.pack import pack_plan, watched_sections
from fencecast.meteorology import load as load_module
from fencecast.meteorology.load import classes_of, hand_in
from fencecast.meteorology.year import RECORD_FIELDS, HourClass
from fencecast.site import parse_site
from meteorology.invented_year import invented_year

HOURS = 480
COLUMNS = {"air_c": "air_temperature_c", "humidity_percent": "relative_humidity", "wind_m_s": "wind_m_s",
           "visibility_m": "visibility_m", "rain_mm": "rain_mm_h", "snow_mm": "snow_mm_h"}  # fmt: skip
SHARED = "[weather_file]" + HOURLY.split("[weather_file]")[1]
PLACE = 'ground = "gravel"\nlatitude = 54.0\nlongitude = 4.0'
STUDY = TINY.split("[[weather]]")[0].replace('ground = "gravel"', PLACE) + SHARED


def record_text(seed: int = 4) -> str:
    """Twenty days of the tests' invented year as a CSV file, a third of the hours foggy."""
    year = invented_year(seed=seed, hours=HOURS, fog_share=0.3, missing=0)
    values = {name: year.middle[field] * (100.0 if "percent" in name else 1.0) for name, field in COLUMNS.items()}
    rows = [",".join(["time", *COLUMNS, "cloud_okta"])]
    for k, time in enumerate(year.records.time):
        numbers = [f"{column[k]:.2f}" for column in values.values()]
        rows.append(",".join([str(time).replace("T", " ")[:16], *numbers, "6"]))
    return "\n".join(rows) + "\n"


@pytest.fixture
def place(tmp_path, monkeypatch):
    """A folder to stand in, with a study, its record, and two site files that read the same record."""
    monkeypatch.chdir(tmp_path)
    monkeypatch.setattr(load_module, "_HANDED_IN", {})
    (tmp_path / "autumn.csv").write_text(record_text())
    (tmp_path / "hourly.toml").write_text(STUDY)
    yard = HOURLY + MOUNTING
    for name in ("north", "south"):
        (tmp_path / f"{name}.toml").write_text(yard.replace("Tiny yard", name).replace("12.0, 0.0", "20.0, 0.0"))
    return tmp_path


def test_the_figure_is_the_mean_over_every_state_simulated_by_itself(place):
    """One piece with the tests' invented year: its mean over all armed hours against each state of each counted hour by itself,
    weighted. 256 crossings a cell on one side, 16 a state on the other; the mean over the fence is known to 0.005 on both.
    Catches: classes weighted by anything but their hours, hours that are not armed, hours of another record."""
    study = load_study("hourly.toml")
    name, inputs = next(study_pieces(study))
    inputs |= {"crossings": 256, "allowances": [10.0]}
    year = invented_year(seed=9, hours=240, fog_share=0.7, missing=6)
    thick = np.where(year.states.fog > 0, year.states.visibility_m / 8.0, year.states.visibility_m)
    by_day = ~year.armed[year.states.hour]  # hours that must not count: nothing is seen in them
    fog, thick = np.where(by_day, 1, year.states.fog), np.where(by_day, 10.0, thick)
    year = replace(year, states=replace(year.states, visibility_m=thick, fog=fog))
    hand_in(record_module._in_folder(piece_site(inputs), Path(f"record {inputs['record']['sha256']}")), year)
    row = compute_piece(inputs)["allowances"][0]
    site = parse_site(row["site_toml"], "layout")
    rows = np.flatnonzero(year.counted[year.states.hour])
    classes = [HourClass(f"row {k}", 0.0, year.states.take(np.array([k]))) for k in rows]
    cells = state_cells(site, 3, len(classes))
    plan = pack_plan(site, classes)
    tally = new_tally(len(cells.weather), len(site.camera))
    advance(plan, cells, tally, np.flatnonzero(watched_sections(site)[cells.section]), 2, 2)
    metres = (cells.end_m - cells.start_m).reshape(len(rows), -1)[0]
    each = tally.mean(SUM_PD).reshape(len(rows), -1) @ (metres / metres.sum())
    truth = float(np.average(each, weights=year.states.weight[rows]))
    hours = [c.hours_per_year for c in classes_of(piece_site(inputs), year)]
    assert float(np.average(row["mean_pd"], weights=hours)) == pytest.approx(truth, abs=0.015)
    assert abs(np.mean(row["mean_pd"]) - truth) > 0.03  # else any weights would do


@pytest.mark.slow
def test_a_study_with_a_record_from_the_file_to_the_sentence(place):
    """Catches: a figure that is not named, a file that does not say which record, results that depend on the number of workers,
    a layout in study.nc that `run` does not take, yards with hours of their own."""
    ended = typed("study", "hourly.toml", "--workers", "1", "--no-pictures", "-o", "one")
    assert ended.code == 0, ended.err
    out = flat(ended.out)
    assert (
        "mean Pd over the 240 armed hours of the record 0." in out and "Every yard and every design meets the same hours" in out
    )
    assert typed("study", "hourly.toml", "--workers", "2", "--no-pictures", "-o", "two").code == 0
    assert (place / "one" / "study.nc").read_bytes() == (place / "two" / "study.nc").read_bytes()
    with xr.open_dataset(place / "one" / "study.nc") as study:
        assert (
            study.attrs["record_sha256"] == load_study("hourly.toml").record.sha256
            and "autumn.csv" in study.attrs["weather_source"]
        )
        names = [str(name) for name in study["weather"].values]
        hours = study["weather_hours"].values
        assert names[-1] == "all armed hours" and hours[:-1].sum() == pytest.approx(hours[-1])
        by_hand = np.average(study["mean_pd"].values[..., :-1], axis=-1, weights=hours[:-1])
        assert study["mean_pd"].values[..., -1] == pytest.approx(by_hand, abs=1e-12)
        layout, pd = study["site_toml"].isel(allowance=1, yard=0, strategy=0, lens=0), study["mean_pd"]
        (place / "layout.toml").write_text(str(layout.values))
        spread = study["pd_scrambling"].isel(allowance=1, yard=0, strategy=0, lens=0, weather=-1).std(ddof=1) / np.sqrt(8)
        wanted = float(pd.isel(allowance=1, yard=0, strategy=0, lens=0, weather=-1))
    run = fc.run("layout.toml", precision=0.1)
    assert [str(name) for name in run["weather"].values] == names[:-1]
    lengths = (run["segment_end_m"] - run["segment_start_m"]).values
    found = float(np.average(run["pd_year"].values, weights=lengths))
    assert found == pytest.approx(wanted, abs=4.0 * float(spread) + 0.02)
    said = json.loads(typed("study", "hourly.toml", "--no-pictures", "--json", "--workers", "1", "-o", "one").out)
    assert said["ranked_by"] == "mean Pd over the 240 armed hours of the record" and said["record"].startswith("autumn.csv")


def test_yards_that_read_one_record_bring_it(place):
    """Site files with a record and a study without weather: theirs counts when it is the same. Catches: yards with different
    hours held against each other."""
    text = STUDY.split("[yards]")[0] + '[[yard]]\npath = "north.toml"\n\n[[yard]]\npath = "south.toml"\n\n'
    text += "[sensors.core]" + STUDY.split("[sensors.core]")[1].split("[weather_file]")[0]
    (place / "yards.toml").write_text(text.replace("number = [10.0, 14.0]", "number = [4.0]"))
    study = load_study("yards.toml")
    assert study.record.name == "autumn.csv" and [name for name, _ in study.sites] == ["north", "south"]
    results = run_study(study, "out", workers=1)
    assert np.isfinite(results["mean_pd"].values).any()
    pieces = dict(study_pieces(study))
    assert len({inputs["record"]["sha256"] for inputs in pieces.values()}) == 1
    os.mkdir("far")
    (place / "far" / "autumn.csv").write_text(record_text(seed=5))
    (place / "far" / "east.toml").write_text((place / "north.toml").read_text())
    (place / "mixed.toml").write_text((place / "yards.toml").read_text().replace("south.toml", "far/east.toml"))
    with pytest.raises(UsageError, match="far/east.toml: .weather_file. is another record, .* type one .weather_file."):
        load_study("mixed.toml")
    (place / "south.toml").write_text((place / "south.toml").read_text().replace("18:00-06:00", "20:00-06:00"))
    with pytest.raises(UsageError, match="south.toml: .armed. is other than in north.toml"):
        load_study("yards.toml")


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        ("crossings = 16", 'crossings = 16\ndesign_weather = "fgo"', 'design_weather = "fgo" is not known: one of "worst", '),
        ("autumn.csv", "spring.csv", "there is no such weather file (there is: autumn.csv)"),
        ("[armed]", '[[weather]]\nname = "dry"\nhours_per_year = 1\nair_temperature_c = 1\nrelative_humidity = 0.5\n'
         "ground_minus_air_k = 1\n\n[armed]", "cannot stand beside [weather_file]"),
    ],
)  # fmt: skip
def test_what_is_refused(place, old, new, said):
    """Catches: a study that ends at its first piece for what its file says."""
    (place / "wrong.toml").write_text(STUDY.replace(old, new))
    with pytest.raises(InputError) as caught:
        load_study("wrong.toml")
    assert said in str(caught.value)


def test_a_piece_is_new_with_another_record_and_the_same_with_another_name(place):
    """Catches: pieces of another record taken for those of this one; a renamed file that computes all anew."""
    (place / "same.csv").write_bytes((place / "autumn.csv").read_bytes())
    (place / "other.csv").write_text(record_text(seed=5))
    keys = []
    for name in ("autumn.csv", "other.csv"):
        (place / "s.toml").write_text(STUDY.replace("autumn.csv", name))
        keys.append(piece_key(next(study_pieces(load_study("s.toml")))[1] | {"tables": {}}))
    assert keys[0] != keys[1]
    (place / "s.toml").write_text(STUDY.replace("autumn.csv", "same.csv"))
    assert piece_key(next(study_pieces(load_study("s.toml")))[1] | {"tables": {}}) == keys[0]


def test_words_of_the_figure():
    """Catches: hours of a short record said as those of a year. By hand."""
    results = results_of(np.full((1, 3, 2, 1, 2), 0.5))
    assert span_words(results) == "the year" and "mean Pd over the year" in winner_sentence(results)
    results.attrs["period_years"] = 1.0
    assert span_words(results) == "the 3,200 armed hours of a year"
    results.attrs["period_years"] = 0.1
    assert span_words(results) == "the 320 armed hours of the record"


def test_records_have_the_fields_that_these_files_write():
    """Catches: a column of the test's record that nothing reads any more."""
    assert set(COLUMNS.values()) <= set(RECORD_FIELDS)
