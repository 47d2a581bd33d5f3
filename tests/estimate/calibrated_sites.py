"""A yard that walks have calibrated, for tests: the short yard with an invented posterior, and plainer ones."""

from __future__ import annotations

import math
from pathlib import Path

import numpy as np

from fencecast.errors import as_toml
from fencecast.site import Site, parse_site

SHORT_YARD = Path(__file__).parents[1] / "data" / "proof" / "short-yard.toml"
MEDIAN, SPREAD, PLACE_SPREAD = 2.6, 0.12, 0.20
CORRELATION = (0.3, 0.4, 0.2, 0.1)
GRID = np.linspace(math.log(MEDIAN) - 0.6, math.log(MEDIAN) + 0.6, 25)


def normal(spread: float, median: float = MEDIAN) -> np.ndarray:
    """Weights of a normal spread of ln N50 on the grid; all on the middle without a spread."""
    if spread <= 0.0:
        return (np.arange(25) == 12).astype(float)
    weight = np.exp(-0.5 * ((GRID - math.log(median)) / spread) ** 2)
    return weight / weight.sum()


def table(**changes: object) -> dict:
    """The keys of an invented [calibration]."""
    keys: dict[str, object] = {
        "cycles_50_low": 2.05,
        "cycles_50_high": 3.29,
        "cycles_50_sd_ln": SPREAD,
        "correlation_low": 0.0,
        "correlation_high": 0.7,
        "place_spread_ln": 0.15,
        "walks": 36,
        "places": 6,
        "walkers": 2,
        "dates": ["2026-11-29"],
        "weather": ["clear night"],
        "log_sha256": ["ab" * 32],
        "prior": "N50 2.0, spread 0.5; correlation uniform to 0.9; places 0.3",
        "ln_cycles_50": GRID.tolist(),
        "correlation": [0.0, 0.3, 0.6, 0.9],
        "weight": np.outer(normal(SPREAD), CORRELATION).tolist(),
        "weight_place": normal(PLACE_SPREAD).tolist(),
    }
    return keys | changes


def calibrated_text(base: str | None = None, cycles_50: float = MEDIAN, mean_r: float = 0.33, **changes: object) -> str:
    """The file of the short yard (or `base`, which has the same [decision]) with what walks said; mean_r: its correlation."""
    text = SHORT_YARD.read_text(encoding="utf-8") if base is None else base
    text = text.replace("cycles_50 = 2.0\n", f"cycles_50 = {cycles_50!r}\n")
    text = text.replace("encounter_correlation = 0.5\n", f"encounter_correlation = {mean_r!r}\n")
    return text + "\n[calibration]\n" + "".join(f"{key} = {as_toml(value)}\n" for key, value in table(**changes).items())


def calibrated_site(**changes) -> Site:
    """That site."""
    return parse_site(calibrated_text(**changes))


def one_point(cycles_50: float, correlation: int) -> dict:
    """Changes that put all weight on one N50 (the grid is moved to it) and one of the four correlations."""
    grid = GRID - GRID[12] + math.log(cycles_50)
    weight = np.zeros((25, 4))
    weight[12, correlation] = 1.0
    return {"ln_cycles_50": grid.tolist(), "weight": weight.tolist(), "weight_place": weight.sum(axis=1).tolist()}
