"""The worked case that goes with the model: its site, its numbers, and how to compare a list of keys with them."""

import json
from pathlib import Path

import pytest

FOLDER = Path(__file__).parents[1] / "data" / "worked-case"
SITE_FILE = FOLDER / "site.toml"
EXPECTED = json.loads((FOLDER / "expected.json").read_text())

# Left out: the setting of an entry, not results; what only some implementations print; and the drop radius, which the clear
# night shows without using it.
SETTING = {"camera", "gait", "distance_m", "ground_distance_m", "drop_radius_um", "rect"}
PROBABILITIES = {"seen_share", "p_look", "p_discriminate"}
EXPLAIN_ENTRIES = [(weather, k) for weather, entries in EXPECTED["explain"].items() for k in range(len(entries))]


def compare(found, wanted, name="", leave_out=SETTING):
    """Key by key: 1 %, temperatures 0.1 K, probabilities 0.02: what the contract asks of `explain`."""
    if isinstance(wanted, dict):
        for key, value in wanted.items():
            if key not in leave_out:
                compare(found[key], value, key, leave_out)
    elif isinstance(wanted, list):
        assert len(found) == len(wanted)
        for one, other in zip(found, wanted):
            compare(one, other, name, leave_out)
    elif isinstance(wanted, float) and name.endswith("temperature_c"):
        assert found == pytest.approx(wanted, abs=0.1), name
    elif isinstance(wanted, float) and name in PROBABILITIES:
        assert found == pytest.approx(wanted, abs=0.02), name
    elif isinstance(wanted, float):
        assert found == pytest.approx(wanted, rel=0.01), name
    else:
        assert found == wanted, name


def compare_ranges(found, wanted):
    """One camera of `ranges`; all closed forms, so 1e-5 (six printed digits)."""
    assert found["mark"] == wanted["mark"]
    assert found["blind_m"] == pytest.approx(wanted["blind_m"], rel=1e-5)
    assert found["pixels_on_person"] == pytest.approx(wanted["pixels_on_person"], rel=1e-5)
    for key in ("cycles_range_m", "cycles_2d_range_m"):
        assert found[key] == pytest.approx(wanted[key], rel=1e-5), key
    for key in ("ifov_mrad", "horizontal_field_deg", "vertical_field_deg", "range_50_m", "range_90_m"):
        assert found[key] == pytest.approx(wanted[key], rel=1e-5), key
    assert found["head_leaves_frame_m"] is wanted["head_leaves_frame_m"] is None
    assert found["noise_alarms_per_day"] == pytest.approx(wanted["noise_alarms_per_day"], rel=1e-4)
