"""The calibrated file of a site with a weather record finds the record from the folder that it is written to."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import fencecast as fc
from fencecast.prove.fit.calibrate import calibrated_text
from prove.fit.onestep import invented_fit

DEPOT = Path(__file__).parents[3] / "configs" / "marsh-depot.toml"


def test_the_record_is_found_from_the_folder_of_the_fit(tmp_path):
    for name in ("marsh-depot.toml", "marsh-depot-weather.csv"):
        (tmp_path / name).write_bytes(DEPOT.with_name(name).read_bytes())
    fit = invented_fit()
    fit = replace(fit, question=replace(fit.question, site=fc.load_site(tmp_path / "marsh-depot.toml")))
    folder = tmp_path / "depot-fit"
    folder.mkdir()
    (folder / "made.toml").write_text(calibrated_text(fit, folder), encoding="utf-8")
    made = fc.load_site(folder / "made.toml")
    assert made.weather_file.path == "../marsh-depot-weather.csv" and made.weather_path.is_file()
    assert made.weather_file.columns == fit.question.site.weather_file.columns and made.calibration is not None
