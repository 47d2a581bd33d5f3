"""Alarms that were counted on the whole site in all weather, where a run is of less."""

from __future__ import annotations

import json

import numpy as np
import pytest
import xarray as xr

from estimate.nuisance_sites import CAT, INSECT, WARM, invented, nuisance_site
from fencecast.decide.compare.nightalarms import alarm_difference, alarms_of_designs
from fencecast.decide.layout import changed, with_cameras
from fencecast.decide.place.candidates import existing
from fencecast.decide.place.ceiling import ceiling_of
from fencecast.decide.tradeoff.alarms import NightCounter
from fencecast.estimate.exposure import exposure_of
from fencecast.estimate.nuisance import night_counts
from fencecast.estimate.onsite import counted_on_site, notes_of
from fencecast.estimate.options import RunOptions
from fencecast.job import add_nuisance_alarms
from fencecast.meteorology.load import classes_of
from fencecast.meteorology.stress import conditioned
from fencecast.site import parse_site
from fencecast.site.without import counted_site, without_cameras
from kernels.kernel_sites import CAMERA, NIGHT
from meteorology.invented_year import invented_year

CAMERAS = [CAMERA, CAMERA | {"mark": "C2"}]
RULE = {"kind": "line", "perimeter": "fence", "cameras": ["C1", "C2"]}
# Insects fly in both, and stand out better in the first.
CLASSES = (NIGHT | {"air_temperature_c": 15.0}, WARM | {"clutter_k": 0.5})
LOG = ({"cause": "insect", "nights": 20.0, "alarms": 3},)


def site_with(soak=LOG, **more):
    return nuisance_site(INSECT, {"kind": "web"}, soak=soak, weather=CLASSES, camera=CAMERAS, rule=(RULE,), **more)


def options(site):
    return RunOptions.of(site, None, 0.5, 64, 1, None)


def run(site, classes=None, year=None, record=None):
    """What `fencecast run` says of nuisance alarms; bursts alone need no plan."""
    classes = classes_of(site, year) if classes is None else classes
    results = xr.Dataset({name: ("segment", [value]) for name, value in (("segment_start_m", 0.0), ("segment_end_m", 40.0))})
    results["pd_year"] = ("segment", [0.9])
    add_nuisance_alarms(site, results, classes, year, record, None, options(site))
    return results


def test_a_log_of_all_weather_in_one_class():
    """Catches: a log of all weather compared with the alarms of one class, which a quiet class would turn into a rate many times
    too high. The class has the alarms that it has in the whole run, and the results say why."""
    site = site_with()
    whole, plain = run(site), run(site_with(soak=()))
    for w in (0, 1):
        alone = run(site, site.weather[w : w + 1])
        assert alone["nuisance_night"].values[:, 0] == pytest.approx(whole["nuisance_night"].values[:, w])
        assert float(alone["nuisance_year_high"]) == pytest.approx(float(whole["nuisance_total_high"][w]))
        assert json.loads(alone.attrs["nuisance_soaks"]) == json.loads(whole.attrs["nuisance_soaks"])
        assert alone.attrs["nuisance_notes"].startswith("insect: its log was made on the site as it was, in all weather")
    assert whole.attrs["nuisance_notes"] == "" and float(whole["nuisance_year"]) < 0.9 * float(plain["nuisance_year"])


def test_a_log_of_all_cameras_without_one():
    """Catches: a log of two cameras compared with the alarms of one. It has what it has in the whole run; its text has no log, so
    that a run of the text takes none for its own."""
    site = site_with()
    whole, left = run(site), without_cameras(site, ["C2"])
    assert left.soak == () and counted_site(left).soak == site.soak and "[[soak]]" not in left.text
    assert float(run(left)["nuisance_cause_year"][0]) == pytest.approx(0.5 * float(whole["nuisance_cause_year"][0]))
    assert float(run(without_cameras(left, []))["nuisance_year"]) == float(run(left)["nuisance_year"])
    assert run(parse_site(left.text)).attrs["nuisance_soaks"] == "[]"


def test_a_log_and_other_cameras():
    """A proposal with a third camera. Catches: a log of two cameras taken for one of three."""
    site = site_with()
    more = with_cameras(site, [*site.camera, changed(site.camera[0], mark="C3")])
    factor = float(run(more)["nuisance_cause_year"][0]) / float(run(site)["nuisance_cause_year"][0])
    assert factor == pytest.approx(1.5) and with_cameras(site, site.camera).soak == site.soak


def test_a_log_of_a_year_under_a_condition():
    """Catches: a log of all hours compared with the alarms of those in which a condition holds: three alarms in 20 nights would
    stay three."""
    year = invented_year(hours=24 * 60)
    site = nuisance_site(INSECT, soak=LOG).replace(weather=(), weather_file={"path": "never-read.epw"})
    some = conditioned(year, "wind_m_s<=2")
    factors = []
    for each in (year, some):
        bare = night_counts(site.replace(soak=()), exposure_of(site, classes_of(site, each), each, year), None, np.zeros(1))
        factors.append(float(run(site, None, each, year)["nuisance_cause_year"][0]) / bare.counts.year[0])
    assert factors[1] == pytest.approx(factors[0]) and abs(factors[0] - 1.0) > 0.3


def test_encounters_of_what_was_counted_alone(monkeypatch):
    """A log of cats, in one class. Catches: encounters of the part compared with the log, or of causes that nobody counted."""
    from fencecast.estimate import encounters as room

    site = nuisance_site({"kind": "fox"}, CAT, soak=({"cause": "cat", "nights": 7, "alarms": 5},))
    asked = []

    def pretend(of, bodies, seed, classes, *_, **__):
        asked.append(([body.name for body in bodies], [each.name for each in classes]))
        return invented(exposure_of(of, classes).only(asked[-1][0]), 0.8)

    monkeypatch.setattr(room, "simulate_encounters", pretend)
    under, _ = counted_on_site(site, site.weather[:1], None, None, options(site))
    assert asked == [(["cat"], ["night", "warm"])] and len(notes_of(under)) == 1
    everything = exposure_of(site, site.weather)
    whole = night_counts(site, everything, invented(everything, 0.8), np.zeros(1))
    part = exposure_of(site, site.weather[:1])
    found = night_counts(site, part, invented(part, 0.8), np.zeros(1), under)
    assert found.counts.by_class[:, 0] == pytest.approx(whole.counts.by_class[:, 0])
    assert found.factors == pytest.approx(whole.factors)
    assert (
        counted_on_site(site, site.weather, None, None, options(site))
        == (None, 0)
        == counted_on_site(nuisance_site(CAT), site.weather[:1], None, None, options(site))
    )


def test_designs_settings_and_ceilings_in_one_class():
    """Catches: one of the three ways to alarms of a setting that compares the log with what is left."""
    site = site_with()
    first = site.weather[:1]
    wanted = float(run(site)["nuisance_total"][0])
    designs = [site, without_cameras(site, ["C2"])]
    base, other = alarms_of_designs(designs, [first, first], [None, None], options(site), None, None)
    assert base.nights.year[0] == pytest.approx(wanted)
    insects = run(site)["nuisance_night"].values[0, 0]
    assert base.nights.counts.year[0] == pytest.approx(insects) == pytest.approx(2.0 * other.nights.counts.year[0])
    assert alarm_difference(base, other, 0.95).change[0] == pytest.approx(-0.5, abs=0.01)  # noise apart
    counter = NightCounter(site, first, options(site), None, None)
    assert counter.alarms(site, None).nights.year[0] == pytest.approx(wanted) and len(counter.notes) == 1
    assert ceiling_of(site, existing(site), (0, 1), first, options(site), None, 1e6).present == pytest.approx(wanted)
