"""Makes tests/data/second-model.json: what the slow independent Monte Carlo gives for the check values of the second model.

Run it by hand, with the tests folder on the path: python -m statistical.make_second_model. It takes about ten minutes; it
imports nothing of the product. Scrambled Sobol points; standard errors from eight scramblings.
"""

from __future__ import annotations

import json
from pathlib import Path

import numpy as np

from fencecast.evidence.independent.estimate import INSTALLATION, averages, one_crossing
from fencecast.evidence.independent.installations import crossing_draws, pd_of_installations
from fencecast.evidence.independent.scene import Scene
from fencecast.evidence.independent.site_reader import read_site
from statistical import second_model

HERE = Path(__file__).parents[1] / "data" / "second-model.json"
DEMO = Path(__file__).parents[2] / "configs" / "estuary-yard.toml"
SCRAMBLINGS = 8
INSTALLATIONS, POINTS_OF_EACH = 256, 64


def cell(site, index: int, points: int, seed: int) -> dict:
    """One segment in the first class: place, Pd with its standard error, causes."""
    scene, weather = Scene(site), next(iter(site.weather))
    section, low, high = site.segments[index]
    means, outcomes = [], []
    for scrambling in range(SCRAMBLINGS):
        draws = crossing_draws(site, weather, points, np.random.default_rng([seed, index, scrambling]))
        found = [one_crossing(site, scene, site.weather[weather], site.segments[index], share) for share in draws]
        means.append(np.mean([outcome["pd"] for outcome in found]))
        outcomes += found
    whole = averages(outcomes, [camera.mark for camera in site.cameras])
    return {
        "section": section.name,
        "from_m": round(float(low), 4),
        "to_m": round(float(high), 4),
        "pd": round(float(np.mean(means)), 5),
        "se": round(float(np.std(means, ddof=1) / np.sqrt(SCRAMBLINGS)), 5),
        "miss_share": {cause: round(value, 5) for cause, value in whole["miss_share"].items()},
    }


def cells(tables: dict, points: int, seed: int) -> list[dict]:
    """Every watched segment."""
    site = read_site(tables)
    watched = [k for k, (section, _, _) in enumerate(site.segments) if any(section.name in rule.watches for rule in site.rules)]
    return [cell(site, index, points, seed) for index in watched]


def corners() -> list[dict]:
    """The first and the last metre of each section of the demo, clear night."""
    site = read_site(DEMO)
    found = []
    for index, (section, low, high) in enumerate(site.segments):
        if low == 0.0 or abs(high - section.start_m[-1]) < 1e-9:
            found.append(cell(site, index, 256, 1))
    return found


def installed(spread: str) -> dict:
    """Quantiles of Pd over installations on the same crossings."""
    site = read_site(second_model.installed(**second_model.SPREADS[spread]))
    pd = pd_of_installations(site, "clear night", 0, INSTALLATIONS, POINTS_OF_EACH, np.random.default_rng(7))
    rng = np.random.default_rng(8)
    again = np.quantile(rng.choice(pd, (400, len(pd))), [0.1, 0.5, 0.9], axis=1)
    return {
        "mean": round(float(pd.mean()), 5),
        "sd": round(float(pd.std(ddof=1)), 5),
        "quantiles": dict(zip(("0.1", "0.5", "0.9"), np.quantile(pd, [0.1, 0.5, 0.9]).round(5).tolist())),
        "quantiles_se": dict(zip(("0.1", "0.5", "0.9"), again.std(axis=1).round(5).tolist())),
        "installations": INSTALLATIONS,
    }


def drawn_by_crossing(spread: str) -> dict:
    """Pd of the same site with an installation drawn for every crossing."""
    return cell(read_site(second_model.installed(**second_model.SPREADS[spread])), 0, 256, 10)


def at_quantiles() -> dict:
    """Pd of the site of `installed` with the error of depression at quantiles of its distribution, all else at medians.

    Pd falls both ways from the middle, so these are points of the curve, not quantiles of Pd over installations."""
    site = read_site(second_model.installed(**second_model.SPREADS["depression 2 deg"]))
    scene, weather, found = Scene(site), site.weather["clear night"], {}
    draws = crossing_draws(site, "clear night", 1024, np.random.default_rng(9))
    for quantile in (0.1, 0.25, 0.5, 0.75, 0.9):

        def share(name, mark=None, drawn=None, quantile=quantile):
            if name in INSTALLATION:
                return quantile if name == "depression" else 0.5
            return drawn(name, mark)

        pd = [
            one_crossing(site, scene, weather, site.segments[0], lambda name, mark=None, d=d, s=share: s(name, mark, d))["pd"]
            for d in draws
        ]
        found[str(quantile)] = round(float(np.mean(pd)), 5)
    return found


def main() -> None:
    barriers = {"wall": ("wall", 0.0)} | {f"palisade {share}": ("palisade", share) for share in second_model.OPEN_SHARES}
    made = {
        "corners of the demo": corners(),
        "behind a fence": {name: cells(second_model.behind_a_fence(*barrier), 32, 2) for name, barrier in barriers.items()},
        "steep": {str(bearing): cells(second_model.steep(bearing), 64, 3) for bearing in second_model.STEEP_BEARINGS},
        "two eyes": {f"{apart} m, r {r}": cells(second_model.two_eyes(apart, r), 64, 4) for apart, r in second_model.EYES},
        "short rule": cells(second_model.short_rule(), 64, 5),
        "drawn by crossing": {name: drawn_by_crossing(name) for name in second_model.SPREADS},
        "installations": {spread: installed(spread) for spread in second_model.SPREADS},
        "depression at quantiles of its error": at_quantiles(),
    }
    HERE.write_text(json.dumps(made, indent=1) + "\n", encoding="utf-8")


if __name__ == "__main__":
    main()
