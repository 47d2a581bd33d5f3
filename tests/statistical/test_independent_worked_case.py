"""The independent check against the worked case that goes with the model.

What it would catch: any slip in the independent code, which the product is compared with. Source of the numbers:
the worked case (another slow implementation, float64, independent draws).

False alarms: explain and ranges are exact comparisons, no chance in them. Each cell makes 9 comparisons at 4 standard
errors of the difference; the random numbers are seeded, so a run repeats itself, and on a fresh seed one comparison
fails by chance with 6e-5, all four cells together with less than 3e-3.
"""

import numpy as np
import pytest

from independent import explain, ranges, read_site, simulate
from statistical.worked import EXPECTED, EXPLAIN_ENTRIES, SITE_FILE, compare, compare_ranges

SITE = read_site(SITE_FILE)
CROSSINGS = 1500


@pytest.mark.parametrize(("weather", "entry"), EXPLAIN_ENTRIES)
def test_one_look_key_by_key(weather, entry):
    """Catches a wrong formula or default in sections 1 to 8 of the model."""
    wanted = EXPECTED["explain"][weather][entry]
    compare(explain(SITE, wanted["camera"], weather, wanted["ground_distance_m"], wanted["gait"]), wanted)


def test_ranges_key_by_key():
    """Catches a wrong field of view, blind ground, range or noise-alarm rate; all closed forms."""
    for found, wanted in zip(ranges(SITE), EXPECTED["ranges"]):
        compare_ranges(found, wanted)


@pytest.mark.parametrize(
    ("weather", "segment"), [("clear night", 0), ("clear night", 10), ("advection fog", 0), ("advection fog", 11)]
)
def test_a_cell_within_its_sampling_error(weather, segment):
    """Catches errors in paths, climbs, rules, the chain, the combination of cameras and the ladder.

    The cells are those where much is in play: blind ground, climbers who rise into view, fog, the far camera. In cells
    with a Pd near 1 rare misses carry the mean and a standard error from a sample says too little."""
    wanted = EXPECTED["weather"][weather]["segments"][segment]
    found = simulate(SITE, weather, segment, CROSSINGS, np.random.default_rng([2024, segment]))
    # The worked case prints no errors for shares, depth and delay: those of this sample, scaled to its size.
    scaled = np.sqrt(1.0 + CROSSINGS / wanted["crossings"])

    def close(value, error, reference, name):
        assert abs(value - reference) <= 4.0 * error, (name, value, reference, error)

    close(found["pd"], np.hypot(found["se"], wanted["se"]), wanted["pd"], "pd")
    for mark, (value, error) in found["pd_camera"].items():
        close(value, np.hypot(error, wanted["se_camera"][mark]), wanted["pd_camera"][mark], mark)
    # The worked case was made for four causes: its "not in view" holds the paths that leave past the end of the rule line.
    shares, errors = dict(found["miss_share"]), dict(found["miss_share_se"])
    shares["not in view"] += shares.pop("no rule there")
    errors["not in view"] = np.hypot(errors["not in view"], errors.pop("no rule there"))
    for cause, value in shares.items():
        close(value, scaled * errors[cause], wanted["miss_share"][cause], cause)
    close(found["alarm_depth_m"], scaled * found["alarm_depth_se_m"], wanted["alarm_depth_m"], "depth")
    close(found["alarm_delay_s"], scaled * found["alarm_delay_se_s"], wanted["alarm_delay_s"], "delay")
    assert sum(found["miss_share"].values()) == pytest.approx(1.0 - found["pd"], abs=1e-12)
