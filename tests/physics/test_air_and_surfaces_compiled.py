"""Every compiled formula of radiance, air, droplets and surfaces against its plain-Python form."""

from __future__ import annotations

import inspect

import numpy as np
import pytest

from fencecast.physics import air, droplets, radiance, surfaces

# Where each argument is sampled; a formula with an argument that is not listed fails the test, so none is left out.
RANGES = {
    "lambda_t_um_k": (600.0, 30000.0),
    "temperature_k": (210.0, 390.0),
    "band_low_um": (3.0, 8.0),
    "band_high_um": (9.0, 20.0),
    "air_temperature_k": (240.0, 315.0),
    "ground_temperature_k": (240.0, 320.0),
    "low_sky_temperature_k": (230.0, 310.0),
    "skin_temperature_k": (299.0, 309.0),
    "radiant_temperature_k": (230.0, 320.0),
    "relative_humidity": (0.05, 1.0),
    "vapour_g_m3": (0.1, 40.0),
    "distance_m": (0.0, 500.0),
    "tau_target": (0.5, 1.0),
    "tau_background": (0.1, 0.5),
    "target_radiance": (20.0, 60.0),
    "background_radiance": (20.0, 60.0),
    "air_radiance": (20.0, 60.0),
    "surface_radiance": (20.0, 60.0),
    "environment_radiance": (20.0, 60.0),
    "ground_leaving_radiance": (20.0, 60.0),
    "low_sky_radiance": (20.0, 60.0),
    "effective_radius_um": (0.2, 80.0),
    "visibility_m": (30.0, 20000.0),
    "rain_mm_h": (-1.0, 20.0),
    "snow_mm_h": (-1.0, 5.0),
    "film_um": (-1.0, 60.0),
    "emissivity": (0.8, 1.0),
    "dry_emissivity": (0.8, 1.0),
    "wetness": (0.0, 1.0),
    "wind_m_s": (0.0, 12.0),
    "walking_m_s": (0.1, 5.0),
    "air_speed_m_s": (0.05, 12.0),
    "clo": (0.3, 3.5),
    "insulation_m2k_w": (0.02, 0.6),
    "area_factor": (1.0, 2.2),
    "radiating_factor": (0.5, 1.0),
}
CHOICES = {
    "convention": (0, 1),
    "fog_kind": (0, 1, 2),
    "is_wet": (False, True),
    "visibility_given": (False, True),
}
MODULES = (radiance, air, droplets, surfaces)
FORMULAS = [
    (module, name)
    for module in MODULES
    for name, thing in vars(module).items()
    if hasattr(thing, "py_func") and thing.py_func.__module__ == module.__name__ and not name.startswith("_")
]


def draws(formula, count=40):
    """Argument tuples inside the ranges, the same in every run."""
    random = np.random.default_rng(20240501)
    columns = []
    for argument in inspect.signature(formula.py_func).parameters:
        if argument in CHOICES:
            columns.append([CHOICES[argument][i] for i in random.integers(0, len(CHOICES[argument]), count)])
        else:
            columns.append(random.uniform(*RANGES[argument], count).tolist())
    return list(zip(*columns, strict=True))


def test_every_formula_is_found():
    """Catches: a search that finds nothing, which would make the tests below empty."""
    assert len(FORMULAS) >= 34


@pytest.mark.parametrize(("module", "name"), FORMULAS, ids=[name for _, name in FORMULAS])
def test_compiled_is_plain_python(module, name):
    """Catches: compiled code that differs from what the source says (integer division, reordering, a table read past its end).
    1e-12: fused and reordered sums of some tens of terms in double precision; the root find stops within 1e-7 K of either."""
    formula = getattr(module, name)
    relative = 1e-9 if name.startswith(("clothing_balance", "clothing_temperature")) else 1e-12
    for arguments in draws(formula):
        assert formula(*arguments) == pytest.approx(formula.py_func(*arguments), rel=relative, abs=1e-15)
