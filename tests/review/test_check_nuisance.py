"""Checks of nuisance alarms: feet a pixel off, sizes end on, and what no camera can have."""

from __future__ import annotations

import math

import numpy as np
import pytest

from fencecast.findings.checksentences import fix_text, measured_text, why_text
from fencecast.review.nuisance import end_on_ratios, foot_error_m
from fencecast.review.optics import eyes_of
from fencecast.review.review import check
from review.yards import base, box, found

IDS = {"passers-near-line", "never-on-ground", "source-unseen"}


def passers(offset_m, **more):
    return {"kind": "people", "per_night": 6.0, "offset_m": offset_m} | more


def test_a_pixel_on_the_ground_is_what_the_sight_line_gives():
    """On the axis, 30 m off, h 4 m, 6 mm and 17 um: across slant x IFOV = 0.086 m a pixel, along it slant^2 IFOV / h = 0.65 m.
    Catches: metres a pixel across the view for those along it, degrees for pixels."""
    site = base(a={"position_m": [0.0, 0.0], "bearing_deg": 90.0, "depression_deg": math.degrees(math.atan2(4.0, 30.0))})
    eye, ifov = eyes_of(site)[0], 17e-6 / 6e-3
    slant = math.hypot(30.0, 4.0)
    point = np.array([[30.0, 0.0], [30.0, 0.0]])
    along, across = foot_error_m(eye, point, np.array([[1.0, 0.0], [0.0, 1.0]]), 2.0)
    assert across == pytest.approx(2.0 * slant * ifov, rel=1e-3)
    assert along == pytest.approx(2.0 * slant**2 * ifov / 4.0, rel=2e-3)
    assert np.isinf(foot_error_m(eye, np.array([[-5.0, 0.0]]), np.array([[0.0, 1.0]]), 1.0))[0]


def test_passers_are_reported_where_their_feet_may_be_seen_across_the_line():
    """A camera that looks square at the line from 25 m inside: one pixel is (25^2 + 4^2) IFOV / 4 = 0.45 m along the sight line,
    1.8 m for four. Passers 1 m outside are 1.5 m from a line 0.5 m inside. Catches: the spread of offsets taken for its nearest
    end, a pixel without its size, another section's passers, distance without the line's own offset."""
    square = {"position_m": [15.0, 25.0], "bearing_deg": 180.0, "depression_deg": 11.0}

    def asked(offset, pixels, **more):
        return base(a=square, b=square, stimulus=[passers(offset, **more)], decision={"foot_point_px": pixels})

    (bad,) = found(asked(-1.0, 4.0), "passers-near-line")
    assert (bad.severity, bad.object) == ("warn", "fence")
    assert bad.facts["distance"] == pytest.approx(1.5)
    ifov = 17e-6 / 6e-3
    error = 4.0 * (26.0**2 + 16.0) * ifov / 4.0 * math.cos(math.atan2(4.0, 26.0) - math.radians(11.0)) ** 2
    assert bad.facts["error"] == pytest.approx(error, rel=0.02)
    assert found(asked(-1.0, 2.0), "passers-near-line") == []
    assert found(asked(-2.0, 4.0), "passers-near-line") == []
    # One in twenty of those between 6 m and 0.75 m outside comes nearer than 1.01 m.
    (some,) = found(asked({"dist": "uniform", "low": -6.0, "high": -0.75}, 4.0), "passers-near-line")
    assert some.facts["distance"] == pytest.approx(0.5 + 0.75 + 0.05 * 5.25)
    road = {"kind": "people", "per_night": 6.0, "at": {"points_m": [[-10.0, -0.9], [12.0, -0.9]]}}
    (bit,) = found(base(a=square, b=square, stimulus=[road], decision={"foot_point_px": 4.0}), "passers-near-line")
    assert bit.facts["distance"] == pytest.approx(1.4)
    assert bit.spans[-1].end_m < 14.0


def test_crawlers_are_as_large_as_computed():
    """End on: sqrt(0.5 b / 0.875) and sqrt(0.3 b / 0.875) with b = 0.30 of a stature of 1.69 m: 0.538 and 0.417. Catches: typed
    numbers that do not follow the statures of the site, a body seen from the side."""
    usual, small = (end_on_ratios(check(site).cover.walkers) for site in (base(), base(intruder={"stature_m": 1.5})))
    assert usual["flat_crawl"] == pytest.approx((0.417, 0.05), abs=0.001)
    assert usual["crawl"] == pytest.approx((0.538, 0.10), abs=0.001)
    assert small["crawl"][0] == pytest.approx(math.sqrt(0.5 * 0.45 / 0.875))


def test_what_a_gate_costs_is_said_with_sizes_and_shares():
    """Catches: a share of one gait alone, a gate whose low end is off."""
    site = base(decision={"size_gate": [0.55, 0.0]})
    (bad,) = found(site, "size-gate-low")
    assert bad.value == 0.55 and bad.limit == pytest.approx(0.417, abs=0.001)
    said = measured_text(site, bad)
    assert "people who crawl are 0.54, who crawl flat 0.42" in said
    assert why_text(site, bad).endswith("15 % of the intruders go so.") and "fencecast tradeoff" in fix_text(site, bad)
    assert found(base(decision={"size_gate": [0.0, 2.5]}), "size-gate-low") == []


def test_a_site_without_stimuli_says_once_that_nobody_asked():
    """Not a finding: the file has no fault. Catches: silence that reads as none, three lines for one reason."""
    from fencecast.findings.check import check_blocks

    review = check(base())
    assert {each.id for each in review.not_asked} >= IDS and not [f for f in review.findings if f.group == "nuisance"]
    lines = [str(getattr(block, "text", "")) for block in check_blocks(review)]
    assert sum("nuisance alarms are not asked for" in line for line in lines) == 1
    assert not IDS & {each.id for each in check(base(stimulus=[{"kind": "cat"}])).not_asked}


def test_a_thing_is_seen_by_the_cameras_that_count():
    """Catches: any camera for those that the stimulus names; a thing behind a wall that counts as seen."""
    here = {"at": {"points_m": [[15.0, 0.5]], "height_m": 1.5}}
    assert found(base(stimulus=[{"kind": "vent", **here}]), "source-unseen") == []
    away = base(stimulus=[{"kind": "vent", "cameras": ["B"], **here}], b={"bearing_deg": 90.0})
    assert [f.object for f in found(away, "source-unseen")] == ["stimulus vent"]
    walls = [box(-4.0, 0.6, -3.0, 3.0, 5.0), box(33.0, 0.6, 34.0, 3.0, 5.0, "second")]
    assert len(found(base(stimulus=[{"kind": "vent", **here}], obstacles=walls), "source-unseen")) == 1
