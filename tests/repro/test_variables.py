"""One variable's distribution changes, and no other variable's draws: a test for each that a site file can set.

All comparisons are to the last bit and hold no chance, except the one that asks whether variables are unrelated.
"""

import copy

import numpy as np
import pytest

from fencecast.sampling.variables import SITE_VARIABLES
from statistical.trial import CLEAR_COLD, base, crossings

# Each variable with a value and another that changes an alarm: where the choice between the two falls on the first, the crossing
# must be that of the fixed value to the last bit.
VARYING = {
    "air_temperature": ("weather", "air_temperature_c", -5.0, 18.0),
    "relative_humidity": ("weather", "relative_humidity", 0.75, 0.05),
    "wind": ("weather", "wind_m_s", 1.0, 8.0),
    "visibility": ("weather", "visibility_m", 45.0, 20.0),
    "rain": ("weather", "rain_mm_h", 0.0, 80.0),
    "snow": ("weather", "snow_mm_h", 0.0, 6.0),
    "ground_minus_air": ("weather", "ground_minus_air_k", -2.0, 1.0),
    "clutter": ("weather", "clutter_k", 0.1, 1.5),
    "wetness": ("weather", "wetness", 0.0, 1.0),
    "drop_radius": ("weather", "drop_radius_um", 5.0, 2.0),
    "stature": ("intruder", "stature_m", 1.7, 1.5),
    "clo": ("intruder", "clo", 1.5, 3.0),
    "clothing_emissivity": ("intruder", "clothing_emissivity", 0.9, 0.82),
    "bare_head_share": ("intruder", "bare_head_share", 0.1, 0.5),
    "approach_angle": ("intruder", "approach_angle_deg", 0.0, 30.0),
    "turn": ("intruder", "turn_deg", 0.0, 40.0),
    "pause": ("intruder", "pause_s", 0.0, 0.7),
    "climb": ("intruder", "climb_s", 4.0, 9.0),
    "speed": ("speed", "walk", 1.3, 2.5),
    "gait": ("gaits", "gaits", "walk", "run"),
}
DRAWN = {"gaits": {"walk": 1.0}, "stature_m": {"dist": "normal", "mean": 1.7, "sd": 0.1, "low": 1.45, "high": 2.0}}
VARIED = 128


def fog_table() -> dict:
    """Fog so thick that every variable matters, the rest drawn from their distributions, one gait, a mesh to climb."""
    table = base()
    table["weather"] = [CLEAR_COLD | {"fog": "radiation", "visibility_m": 45.0}]
    table["intruder"] = copy.deepcopy(DRAWN)
    table["perimeter"][0]["barrier"] = "mesh"
    return table


def with_value(name: str, value) -> dict:
    where, key, _, _ = VARYING[name]
    table = fog_table()
    place = table["weather"][0] if where == "weather" else table["intruder"]
    if where == "speed":
        place = place.setdefault("speed_m_s", {})
    if where == "gaits":  # shares, not a quantity
        names = value["values"] if isinstance(value, dict) else [value]
        value = dict.fromkeys(names, 1.0 / len(names))
    place[key] = value
    return table


@pytest.fixture(scope="module")
def changed():
    """{variable: bool (cells x crossings,)}: crossings that differ when the variable varies between its two values."""
    found = {}
    for name, (_, _, first, second) in VARYING.items():
        fixed = crossings(with_value(name, first), VARIED, cells=[2, 5])
        choice = {"dist": "choice", "values": [first, second], "weights": [1.0, 1.0]}
        drawn = crossings(with_value(name, choice), VARIED, cells=[2, 5])
        found[name] = np.any(fixed.rows != drawn.rows, axis=2).ravel()
    return found


@pytest.mark.parametrize("name", VARYING)
def test_a_new_distribution_leaves_the_other_variables_draws(changed, name):
    """A fixed value against a choice between it and another, each with one half: half of the crossings draw the fixed value and
    must then be the same to the last bit. Were any other draw touched, none would be. 128 Sobol points split in halves, 64 each
    in every cell; crossings that raise no alarm either way may be the same too, hence a half or less."""
    share = changed[name].mean()
    assert 0.05 < share <= 0.5


def test_no_two_variables_share_a_draw(changed):
    """The crossings that change with one variable and those that change with another are unrelated. 190 pairs of 256 stratified
    crossings: |r| under 0.3 has a chance of 2e-6 a pair to fail even for independent crossings. Catches a dimension or key used
    twice (r near 1)."""
    names = list(VARYING)
    related = np.corrcoef(np.array([changed[name] for name in names], dtype=float)) - np.eye(len(names))
    worst = np.unravel_index(np.argmax(np.abs(related)), related.shape)
    assert np.abs(related).max() < 0.3, (names[worst[0]], names[worst[1]])


def test_variables_keep_their_dimensions():
    """Names may be added at the end, never moved or dropped: two versions must see the same crossings. Catches a new order."""
    assert SITE_VARIABLES[:24] == (
        "position", "approach_angle", "gait", "speed", "visibility", "drop_radius", "look_phase", "stature", "clo",
        "ground_minus_air", "air_temperature", "wind", "clothing_emissivity", "rain", "clutter", "wetness", "relative_humidity",
        "snow", "bare_head_share", "turn", "pause", "climb", "direction", "depth_ratio",
    )  # fmt: skip
