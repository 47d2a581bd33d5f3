"""What geometry can find of the planted faults, `check` finds without a simulation.

The ids were chosen by what each fault is and what each check asks; faults of signal and weather are none of geometry's.
"""

import pytest

from fencecast import check, parse_site
from planted.base import base, toml
from planted.faults import SINGLE

FOUND_BY = {
    "foot_of_a_mast": "under-mast",
    "back_to_back": "under-mast",
    "mast_lost": "not-in-view",
    "corner_missed": "under-mast",
    "turned_round": "not-in-view",
    "over_the_yard": "not-in-view",
    "too_flat": "under-mast",
    "too_low": "not-in-view",
    "lens_too_long": "under-mast",
    "mounting_errors": "aim-opens-gap",
    "stock": "hidden",
    "house_outside": "hidden",
    "kiosk_inside": "hidden",
    "fence_between": "hidden",
    "behind_the_wall": "hidden",
    "deaf_rule": "not-heard",
    "short_line": "misses-rule",
    "line_in_a_corner": "misses-rule",
    "gap_at_a_bend": "line-end",
    "far_camera_only": "not-heard",
    "lens_too_short": "resolution",
    "crawlers": "resolution",
    "stooped": "resolution",
    "strict_confirmation": "dwell",
    "slow_looks": "dwell",
    "narrow_view": "dwell",
}
FAULTS = {fault.name: fault for fault in SINGLE}


@pytest.mark.parametrize("name", FOUND_BY)
def test_a_planted_fault_is_found_without_a_simulation(name):
    """Catches: a fault that only crossings show although the drawing shows it; a finding that the good yard has as well."""
    good = {(f.id, f.object) for f in check(parse_site(toml(base())), weather=False).findings}
    found = {(f.id, f.object) for f in check(parse_site(toml(FAULTS[name].tables())), weather=False).findings} - good
    assert FOUND_BY[name] in {id for id, _ in found}


def test_every_planted_fault_is_accounted_for():
    """Catches: a new fault that nobody asked geometry about."""
    signal = {"clutter", "threshold", "noisy", "fog", "snow", "drops", "crossover", "wet_clothing"}
    # Armed for a tenth of a second: rates of looks are in the crossings' hands.
    assert set(FAULTS) == set(FOUND_BY) | signal | {"window_too_short"}
