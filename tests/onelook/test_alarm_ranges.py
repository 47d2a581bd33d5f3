"""From a data sheet's range to that of an alarm: chances with scipy's binomial, ranges with the other keys and by hand."""

import math

import pytest
from scipy.optimize import brentq
from scipy.stats import binom

import fencecast as fc
from fencecast.lensranges import look_chance_for
from fencecast.physics.discrimination import discrimination_probability
from onelook.test_hiding import SITE


@pytest.mark.parametrize(("m", "n"), [(1, 1), (1, 5), (3, 5), (5, 5), (7, 20)])
def test_the_chance_of_a_look_for_nine_alarms_in_ten(m, n):
    """Against scipy. Catches: exactly m instead of at least m, m and n swapped."""
    expected = brentq(lambda p: binom.sf(m - 1, n, p) - 0.90, 1e-9, 1 - 1e-9, xtol=1e-14)
    assert look_chance_for(0.90, m, n) == pytest.approx(expected, abs=1e-9)


def test_one_of_one_is_the_range_of_a_look():
    """Catches: another person, another IFOV or another curve than that of the range beside it."""
    site = fc.parse_site(SITE + "\n[decision]\nconfirm = [1, 1]\n")
    for camera in fc.ranges(site)["cameras"]:
        assert camera["range_alarm_90_m"] == pytest.approx(camera["range_90_m"], rel=1e-9)


def test_ranges_of_alarms_by_hand():
    """17 um, 6 mm, N50 2.0: at R the person of 1.8 x 0.5 m has 0.5 sqrt(0.9) / (R IFOV) cycles, and a look must count with the
    chance of 3 in 5. Of the site's gaits a crouch is smallest across the view: 0.65 x 0.25 statures of 1.69 m.

    Catches: a posture seen end on, the largest instead of the smallest, a gait that the site does not have.
    """
    camera = fc.ranges(fc.parse_site(SITE + "\n[intruder]\nstature_m = 1.69\n"))["cameras"][0]
    cycles = 0.5 * math.sqrt(1.8 * 0.5) / (camera["range_alarm_90_m"] * 17e-6 / 6e-3)
    assert binom.sf(2, 5, discrimination_probability(cycles / 2.0)) == pytest.approx(0.90, abs=1e-9)
    assert camera["smallest_gait"] == "crouch"
    crouch = 1.69 * math.sqrt(0.65 * 0.25) / math.sqrt(1.8 * 0.5)
    assert camera["range_alarm_90_smallest_m"] == pytest.approx(camera["range_alarm_90_m"] * crouch, rel=1e-9)
    runner = fc.ranges(fc.parse_site(SITE + "\n[intruder]\ngaits = { run = 1.0 }\n"))["cameras"][0]
    assert runner["smallest_gait"] == "run"
    flat = fc.ranges(fc.parse_site(SITE + "\n[intruder]\ngaits = { flat_crawl = 0.5, crawl = 0.5 }\n"))["cameras"][0]
    assert flat["smallest_gait"] == "flat crawl"
