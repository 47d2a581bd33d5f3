"""Hours of sun in the frame: by a plain rule, by the season, by what is armed."""

import numpy as np
import pytest

import fencecast as fc
from fencecast.findings.checksentences import measured_text
from fencecast.findings.sitewarnings import site_warnings
from fencecast.meteorology.sunpath import sun_positions_deg
from review.pairs import GROUND
from review.yards import base, found


def test_the_sun_stands_where_an_almanac_has_it():
    """Noon of the solstice at 54 N on the meridian: 90 - 54 + 23.44 degrees, due south; at the equinox it sets due west."""
    at = np.array(["2023-06-21T12:02", "2023-03-20T18:08"], dtype="datetime64[s]")
    elevation, azimuth = sun_positions_deg(at, 54.0, 0.0)
    assert elevation[0] == pytest.approx(59.44, abs=0.05) and azimuth[0] == pytest.approx(180.0, abs=0.6)
    assert elevation[1] == pytest.approx(0.0, abs=0.7) and azimuth[1] == pytest.approx(270.0, abs=1.0)


def sun(depression=5.0, **tables):
    return found(base(a={"depression_deg": depression}, site=GROUND, **tables), "sun")


def test_only_armed_hours_count():
    """Catches: hours of the day on a site that is armed by night. Camera A looks east: mornings count, evenings do not."""
    whole = sun()[0]
    assert whole.severity == "note"
    mornings, evenings = sun(armed={"hours": ["00:00-12:00"]}), sun(armed={"hours": ["12:00-24:00"]})
    assert mornings[0].severity == "warn" and mornings[0].value == pytest.approx(whole.value) and evenings == []
    site = base(site=GROUND, armed={"hours": ["00:00-12:00"]})
    assert "while it is armed" in measured_text(site, mornings[0])
    assert any("[armed] changes no number here" in text for text in site_warnings(site))


def test_a_camera_that_looks_down_or_north_has_no_sun():
    """At 54 N the sun is never within 40 degrees of north while it is up and near the horizon."""
    assert sun(depression=13.0) == []
    north = base(a={"depression_deg": 5.0, "bearing_deg": 0.0}, site=GROUND)
    assert [f.object for f in found(north, "sun")] == []


def test_without_a_place_it_is_said_what_is_missing():
    names = {each.id: each.key for each in fc.check(base(a={"depression_deg": 5.0})).not_asked}
    assert names["sun"] == "[site] latitude and longitude"
    assert "sun" not in {each.id for each in fc.check(base()).not_asked}
