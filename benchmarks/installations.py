"""`run --installations` against brute force: every installation typed as a site file with its errors, and run by itself.

    PYTHONPATH=sim python benchmarks/installations.py [--count 200] [--precision 0.02] SITE.toml ...

The files hold what the installation drew (mounting, NETD, N50, correlation, threshold, clutter) and no spread, and are run
with a seed of their own. Prints, by site, the largest and the mean difference of the 10 and 90 % points over all cells, that of
the mean spread by class, and the seconds of both; ends with 1 when the mean spread of a class is off by more than 0.01.
"""

from __future__ import annotations

import argparse
import math
import sys
import time

import numpy as np
from scipy.special import ndtri

import fencecast as fc
from fencecast.estimate.installations import as_drawn, installation_plans, simulate_installations
from fencecast.kernels.pack import pack_cells, pack_plan, watched_sections
from fencecast.sampling.installations import camera_units, decision_units
from fencecast.sampling.variables import CAMERA_VARIABLES, DECISION_VARIABLES

BOUND = 0.01


def typed(site: fc.Site, count: int) -> list[fc.Site]:
    """The site files of `count` installations, without any spread."""
    errors = {camera.mark: ndtri(camera_units(site.seed, camera.mark, count)) for camera in site.camera}
    drawn = decision_units(site.seed, count)
    t, made = site.tolerance, []
    for i in range(count):
        cameras, sensors = [], {}
        for camera in site.camera:
            netd, bearing, depression, height = errors[camera.mark][i]
            sensor = site.sensors[camera.sensor]
            factor = math.exp(sensor.netd_spread * netd)
            sensors[camera.mark] = _given(sensor) | {"netd_mk": sensor.netd_mk * factor, "netd_spread": 0.0}
            cameras.append(
                _given(camera)
                | {
                    "sensor": camera.mark,
                    "bearing_deg": camera.bearing_deg + t.bearing_deg * bearing,
                    "depression_deg": camera.depression_deg + t.depression_deg * depression,
                    "height_m": max(camera.height_m + t.height_m * height, 0.1),
                }
            )
        values = {name: getattr(site.decision, name).quantile(u) for name, u in zip(DECISION_VARIABLES, drawn[i])}
        values["encounter_correlation"] = min(max(values["encounter_correlation"], 0.0), 0.9)
        decision = _given(site.decision) | values
        made.append(
            site.replace(camera=cameras, sensors=sensors, decision=decision, tolerance={}, variant=(), kit={}, seed=4711 + i)
        )
    return made


def _given(table) -> dict:
    return {key: getattr(table, key) for key in table.model_fields_set if getattr(table, key) is not None}


def main() -> int:
    parser = argparse.ArgumentParser()
    parser.add_argument("sites", nargs="+")
    parser.add_argument("--count", type=int, default=200)
    parser.add_argument("--precision", type=float, default=0.02)
    asked = parser.parse_args()
    assert CAMERA_VARIABLES == ("netd", "bearing", "depression", "height")
    worst = 0.0
    for path in asked.sites:
        site = fc.load_site(path)
        plan, cells = pack_plan(site), pack_cells(site, site.seed)
        start = time.perf_counter()
        plans = installation_plans(plan, tuple(camera.mark for camera in site.camera), site.seed, asked.count)
        active = watched_sections(site)[cells.section]
        found = simulate_installations(as_drawn(plan), plans, cells, active, asked.precision, 2048, threads=2)
        middle = time.perf_counter()
        brute = np.array([fc.run(each, precision=asked.precision)["pd"].values.ravel() for each in typed(site, asked.count)])
        end = time.perf_counter()
        ours, theirs = (np.quantile(pd, (0.1, 0.9), axis=0) for pd in (found.pd, brute))
        off = np.abs(ours - theirs)[:, active]
        spread = (ours[1] - ours[0]) - (theirs[1] - theirs[0])
        by_class = [abs(float(np.mean(spread[active & (cells.weather == w)]))) for w in range(len(site.weather))]
        worst = max(worst, *by_class)
        print(
            f"{path}: 10 and 90 % points off by {off.max():.3f} at most, {off.mean():.4f} on average; mean spread of a class off "
            f"by {max(by_class):.4f} at most; {found.looks:,} looks, {middle - start:.0f} s against {end - middle:.0f} s",
            flush=True,
        )
    return 1 if worst > BOUND else 0


if __name__ == "__main__":
    sys.exit(main())
