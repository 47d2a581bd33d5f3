"""`[calibration]`: what is taken, what is refused in one report, and when [decision] no longer agrees with it."""

from __future__ import annotations

import datetime
import math

import numpy as np
import pytest

from estimate.calibrated_sites import GRID, SHORT_YARD, calibrated_site, calibrated_text, normal, one_point
from fencecast.errors import InputError
from fencecast.findings.sitewarnings import site_warnings
from fencecast.site import load_site, parse_site, site_to_toml
from fencecast.site.calibration import weighted_quantile


def problems(**changes) -> str:
    with pytest.raises(InputError) as caught:
        calibrated_site(**changes)
    return str(caught.value)


def test_a_site_without_walks_has_none():
    """Catches: a table made of nothing, and words in the text of a site that never had any."""
    site = load_site(SHORT_YARD)
    assert site.calibration is None and "calibration" not in site_to_toml(site)


def test_the_table_survives_its_text():
    """Catches: weights rounded on the way to a file, days without quotes, one name where a list is meant."""
    site = calibrated_site(dates=datetime.date(2026, 11, 29), weather="clear night")
    again = parse_site(site_to_toml(site))
    assert again == site and again.calibration.weight == site.calibration.weight
    assert again.calibration.dates == ("2026-11-29",) and again.calibration.weather == ("clear night",)


def test_median_and_mean_are_those_of_the_weights():
    """Against a normal law's own median and against one point. Catches: the median of the grid instead of its weights."""
    shifted = np.outer(normal(0.12, 2.2), (0.0, 1.0, 0.0, 0.0)).tolist()
    table = calibrated_site(weight=shifted).calibration
    assert table.median_cycles_50 == pytest.approx(2.2, rel=2e-3) and table.mean_correlation == pytest.approx(0.3)
    alone = calibrated_site(**one_point(1.9, 3)).calibration
    assert alone.median_cycles_50 == pytest.approx(1.9, rel=1e-12) and alone.mean_correlation == pytest.approx(0.9)
    assert weighted_quantile((0.0, 1.0, 2.0), (0.25, 0.5, 0.25), 0.5) == pytest.approx(1.0)


@pytest.mark.parametrize(
    ("changes", "said"),
    [
        ({"ln_cycles_50": GRID[:24].tolist()}, "[calibration] ln_cycles_50"),
        ({"ln_cycles_50": GRID[::-1].tolist()}, "25 numbers that rise by equal steps"),
        ({"ln_cycles_50": (GRID + np.where(np.arange(25) == 7, 0.004, 0.0)).tolist()}, "rise by equal steps"),
        ({"correlation": [0.0, 0.3, 0.6, 0.8]}, "exactly [0.0, 0.3, 0.6, 0.9]"),
        ({"weight": np.outer(normal(0.12), (0.3, 0.4, 0.2, 0.1001)).tolist()}, "these add up to 1.0001"),
        ({"weight": np.outer(normal(0.12), (0.6, 0.4)).tolist()}, "25 rows of 4 weights"),
        ({"weight": np.outer(normal(0.12), (0.6, 0.6, -0.1, -0.1)).tolist()}, "of at least 0"),
        ({"weight_place": normal(0.2)[:24].tolist()}, "25 weights"),
        ({"weight_place": [math.nan] * 25}, "25 weights"),
        ({"cycles_50_low": 4.0}, "at most cycles_50_high = 3.29"),
        ({"walks": 0}, "[calibration] walks = 0"),
        ({"dates": []}, "days of the walks"),
        ({"place_spreads": [0.0, 0.2], "weight_spread": [0.3, 0.3, 0.4]}, "as many weights as place_spreads has numbers (2)"),
        ({"place_spreads": [0.0, 0.2]}, "or neither key"),
        ({"place_spreads": [0.2, 0.1], "weight_spread": [0.5, 0.5]}, "rising numbers from 0 to 2"),
        ({"place_spreads": [0.0, 0.2], "weight_spread": [0.5, 0.6]}, "these add up to 1.1"),
    ],
)
def test_a_bad_table_is_refused(changes, said):
    """Catches: a number that could not be what a fit wrote, taken in silence."""
    assert said in problems(**changes)


def test_all_faults_come_in_one_report():
    """Catches: one fault that hides another."""
    text = problems(walks=0, correlation=[0.0], weight_place=[1.0], correlation_low=0.9, correlation_high=0.1)
    assert text.startswith("site.toml: 4 problems")


def test_a_missing_key_is_named():
    """Catches: a table without its weights."""
    text = "\n".join(line for line in calibrated_text().splitlines() if not line.startswith("weight_place"))
    with pytest.raises(InputError, match="weight_place.*is missing"):
        parse_site(text)


def test_a_decision_that_was_edited_later_is_said():
    """Catches: [decision] and the weights apart, and nobody hears of it; or a warning for what a fit wrote."""
    own = calibrated_site(), calibrated_site(cycles_50=2.64, mean_r=0.34)
    assert not [text for site in own for text in site_warnings(site, run=True)]
    edited = site_warnings(calibrated_site(cycles_50=3.1, mean_r=0.6), run=True)
    assert len(edited) == 1 and "cycles_50 is 3.1 and the median of the weights 2.6" in edited[0]
    assert "encounter_correlation is 0.6 and the mean of the weights 0.33" in edited[0]


def test_other_commands_say_what_they_use():
    """Catches: a comparison of a calibrated file that seems to hold what the walks left open."""
    assert any("uses N50 and correlation of [decision]" in text for text in site_warnings(calibrated_site()))
    assert not any("uses N50" in text for text in site_warnings(load_site(SHORT_YARD)))
