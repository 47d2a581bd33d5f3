"""The picture of a fence that walks have calibrated: its headline is counted, its bands are those of the results."""

from __future__ import annotations

import json

import numpy as np
import pytest

from fencecast.errors import UsageError
from fencecast.findings.rehearsal import NOBODY
from fencecast.show.fence.summary import plot_summary
from fencecast.show.fence.walkband import LEFT, RIGHT, plot_fence_band
from fencecast.show.fence.walkbanddata import WalkedPlace, fence_band_data
from show import invented_results
from show.overlap import overlaps, texts

FACTS = {
    "cycles_50": 2.6, "cycles_50_low": 2.1, "cycles_50_high": 3.3, "encounter_correlation": 0.33, "correlation_low": 0.0,
    "correlation_high": 0.7, "place_spread_ln": 0.15, "walks": 36, "places": 6, "walkers": 2, "dates": ["2026-11-29"],
    "weather": ["warm dusk"], "log_sha256": [], "prior": "none",
}  # fmt: skip
WALKED = (WalkedPlace("West fence", 20.0, 6, 6, 0.54, 1.0), WalkedPlace("Quay edge", 60.0, 4, 6, 0.22, 0.96))


def calibrated(**changes):
    """An invented yard with invented bands: inner 0.04 wide on each side, outer 0.10, crossings 0.02."""
    results = invented_results.yard(**changes)
    pd, cells = results["pd"].values, ("weather", "segment")
    for name, half in (("pd_parameter", 0.04), ("pd_place", 0.10)):
        results[f"{name}_low"] = (cells, np.clip(pd - half, 0.0, 1.0))
        results[f"{name}_high"] = (cells, np.clip(pd + half, 0.0, 1.0))
    results["pd_sampling_half"] = (cells, np.full_like(pd, 0.02))
    results["pd_low"] = (cells, np.clip(pd - np.hypot(0.10, 0.02), 0.0, 1.0))
    results["pd_high"] = (cells, np.clip(pd + np.hypot(0.10, 0.02), 0.0, 1.0))
    results.attrs["calibration"] = json.dumps(FACTS)
    return results


def row_of(results, name, values="pd"):
    return results[values].values[[str(each) for each in results["weather"].values].index(name)]


def test_the_headline_is_counted():
    """Catches: a headline of another class, metres that are segments, more where it is fewer."""
    results = calibrated()
    lengths = (results["segment_end_m"] - results["segment_start_m"]).values
    below = float(lengths[row_of(results, "warm dusk") < 0.90].sum())
    parts = [
        (word, float(lengths[where].sum()))
        for word, where in (
            ("weak", row_of(results, "warm dusk", "pd_high") < 0.90),
            ("meet", row_of(results, "warm dusk", "pd_low") >= 0.90),
        )
    ]
    parts.insert(1, ("undecided", float(lengths.sum()) - parts[0][1] - parts[1][1]))
    said = ", ".join(f"{metres:.0f} m {word}" for word, metres in parts if metres)
    assert parts[1][1] > 0.0 and fence_band_data(results).title == f"Warm dusk: {said}"
    before = calibrated()
    before["pd"] = before["pd"] * 1.1
    rise = below - float(lengths[row_of(before, "warm dusk") < 0.90].sum())
    assert rise > 1.0
    assert fence_band_data(results, before).title == f"With N50 2.6, {rise:.0f} m more fall below 0.90 in warm dusk"
    assert "fewer fall" in fence_band_data(before, results).title
    assert "as many metres as before" in fence_band_data(results, results).title


def test_the_bands_are_those_of_the_results():
    """Catches: the inner band drawn wider than the outer, the crossings' part forgotten in one of them."""
    data = fence_band_data(calibrated(), weather="heavy rain")
    free = (data.pd > 0.2) & (data.pd < 0.8)
    assert (data.pd - data.many_low)[free] == pytest.approx(np.hypot(0.04, 0.02))
    assert (data.high - data.pd)[free] == pytest.approx(np.hypot(0.10, 0.02))


@pytest.mark.parametrize("walked", [(), WALKED])
def test_everything_is_on_the_page(walked):
    """Catches: words over each other or over the edge, a requirement without its mark, walks without their count."""
    results = calibrated()
    figure = plot_fence_band(results, calibrated() if walked else None, walked)
    said = texts(figure)
    assert "required" in said and "0.90" in said and any(text.startswith("Calibrated by 36 walks of 2 people") for text in said)
    assert {"4 of 6", "6 of 6"} <= set(said) if walked else not any(" of 6" in text for text in said)
    assert ("Pd of the site file before the walks" in said) == bool(walked)
    assert not overlaps(figure) and LEFT < RIGHT


def test_results_without_walks_are_refused():
    """Catches: a band made of nothing; a run before the walks that is of another fence."""
    with pytest.raises(UsageError, match="rest on no walks"):
        plot_fence_band(invented_results.yard())
    with pytest.raises(UsageError, match="other segments"):
        fence_band_data(calibrated(), invented_results.one_camera())


def test_plot_takes_the_run_before_to_the_one_picture_of_it(tmp_path, monkeypatch):
    """Catches: a headline that never counts what changed, `before` given to every picture, or to results without walks."""
    import fencecast.show.write as write

    asked = {}

    def drawing(name):
        return lambda results, *which, **more: asked.setdefault(name, more)

    monkeypatch.setattr(write, "save_picture", lambda figure, path: None)
    results, before = calibrated(), invented_results.yard()
    rows = ((("plan.png",), "fence.plan", "plot_plan"), *write.CALIBRATED)
    monkeypatch.setattr(write, "pictures_of", lambda results: rows)
    monkeypatch.setattr("fencecast.show.fence.plan.plot_plan", drawing("plan"))
    monkeypatch.setattr("fencecast.show.fence.walkband.plot_fence_band", drawing("band"))
    assert write.write_pictures(results, tmp_path, before) == ["plan.png", "fence-band.png"]
    assert asked == {"plan": {}, "band": {"before": before}}
    monkeypatch.setattr(write, "pictures_of", lambda results: rows[:1])
    with pytest.raises(UsageError, match="rest on no walks"):
        write.write_pictures(before, tmp_path, before)


def test_pictures_of_a_rehearsal_say_that_nobody_walked():
    """Catches: a band or a summary handed out alone, as if somebody had walked."""
    results = calibrated()
    assert not any("Rehearsal" in text for text in texts(plot_fence_band(results)))
    results.attrs["calibration"] = json.dumps(FACTS | {"rehearsal": True})
    figure = plot_fence_band(results)
    assert any(text.startswith("Rehearsal, nobody walked.") for text in texts(figure)) and not overlaps(figure)
    summary = plot_summary(results)
    assert NOBODY in texts(summary) and not overlaps(summary)
