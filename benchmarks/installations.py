"""`run --installations` against brute force: every installation typed as a site file with its errors, and run by itself.

    PYTHONPATH=sim python benchmarks/installations.py [--count 200] [--degrees 1] [--precision 0.02] SITE.toml ...

The files hold what the installation drew (mounting, NETD, N50, correlation, threshold, clutter) and no spread, and are run
plainly, with a seed that is not the site's, the same for all: files with a seed each would differ by their noise as well, 0.01
of Pd at this precision, where nothing else differs. With --weather NAME only in these classes; with --degrees, bearing and
depression are off by so much (one sigma), whatever the site says. Prints a table: by site, over all cells (segment, class), how
far the 10 % point, the 90 % point and the share of installations that meet are off: on average with the sign, by size, at most;
then that of the mean spread (90 % less 10 % point) of the worst class. Ends with 1 when that is off by more than 0.01.
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
        made.append(site.replace(camera=cameras, sensors=sensors, decision=decision, tolerance={}, variant=(), kit={}, seed=4711))
    return made


def _given(table) -> dict:
    return {key: getattr(table, key) for key in table.model_fields_set if getattr(table, key) is not None}


def off_by(ours: np.ndarray, theirs: np.ndarray) -> str:
    """`-0.001 0.004 0.021`: difference on average, its size on average, and at most."""
    off = ours - theirs
    return f"{off.mean():+.3f} {np.abs(off).mean():.3f} {np.abs(off).max():.3f}"


def compared(ours: np.ndarray, theirs: np.ndarray, weather: np.ndarray, requirement: float) -> tuple[list[str], float]:
    """Three cells of the table, and by how much the mean spread of a class is off at most; pd (installations, cells)."""
    points = [np.quantile(pd, (0.1, 0.9), axis=0) for pd in (ours, theirs)]
    meets = [(pd >= requirement).mean(axis=0) for pd in (ours, theirs)]
    spread = np.diff(points[0], axis=0)[0] - np.diff(points[1], axis=0)[0]
    cells = [off_by(points[0][k], points[1][k]) for k in (0, 1)] + [off_by(*meets)]
    return cells, max(abs(float(np.mean(spread[weather == w]))) for w in np.unique(weather))


def main() -> int:
    parser = argparse.ArgumentParser()
    parser.add_argument("sites", nargs="+")
    parser.add_argument("--count", type=int, default=200)
    parser.add_argument("--degrees", type=float)
    parser.add_argument("--weather", action="append", default=[])
    parser.add_argument("--precision", type=float, default=0.02)
    asked = parser.parse_args()
    assert CAMERA_VARIABLES == ("netd", "bearing", "depression", "height")
    worst = 0.0
    print("| site | cells | 10 % point | 90 % point | share that meets | mean spread | looks, s | brute force, s |")
    print("|---|---:|---:|---:|---:|---:|---:|---:|", flush=True)
    for path in asked.sites:
        site = fc.load_site(path)
        if asked.weather:
            site = site.replace(weather=[each for each in site.weather if each.name in asked.weather])
        if asked.degrees is not None:
            errors = {"bearing_deg": asked.degrees, "depression_deg": asked.degrees, "height_m": site.tolerance.height_m}
            site = site.replace(tolerance=errors)
        plan, cells = pack_plan(site), pack_cells(site, site.seed)
        start = time.perf_counter()
        plans = installation_plans(plan, tuple(camera.mark for camera in site.camera), site.seed, asked.count)
        active = watched_sections(site)[cells.section]
        found = simulate_installations(as_drawn(plan), plans, cells, active, asked.precision, 2048, threads=2)
        middle = time.perf_counter()
        brute = np.array([fc.run(each, precision=asked.precision)["pd"].values.ravel() for each in typed(site, asked.count)])
        end = time.perf_counter()
        columns, off = compared(found.pd[:, active], brute[:, active], cells.weather[active], site.requirement.pd)
        worst = max(worst, off)
        print(
            f"| {site.title} | {active.sum()} | {' | '.join(columns)} | {off:.4f} | {found.looks / 1e6:.0f} million, "
            f"{middle - start:.0f} | {end - middle:.0f} |",
            flush=True,
        )
    return 1 if worst > BOUND else 0


if __name__ == "__main__":
    sys.exit(main())
