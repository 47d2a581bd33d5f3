"""Pd against distance for the lenses of two designs, in the one picture of such curves (`comparison-distance.png`)."""

from __future__ import annotations

import numpy as np
from matplotlib.figure import Figure

from fencecast.decide.compare.designs import as_run
from fencecast.estimate.distance import lens_cameras
from fencecast.estimate.places import site_of
from fencecast.estimate.results import Results
from fencecast.show.look.distance import plot_distance
from fencecast.site import site_to_toml


def curves_differ(results, compared: int = 0) -> bool:
    """Whether the two curves are not the same numbers: designs that differ in their aims alone share a lens and its curve."""
    return bool(np.any(results["pd_distance_difference"].values[compared] != 0.0))


def plot_comparison_distance(results, compared: int = 0) -> Figure:
    """The curve of the base's lens as A and of the variant's as B, both on the same crossings."""
    results = Results.of(results)
    return plot_distance(_two_lenses(results, compared), [_lens_names(results, compared)])


def _lens_names(results, compared: int) -> tuple[str, str]:
    return tuple(str(results["variant"].values[k]) for k in (0, compared + 1))


def _two_lenses(results, compared: int):
    """Results as of a run of a site with one camera for each of the two lenses, which are named by their designs."""
    run = Results.of(as_run(results, 0))
    names, rows = _lens_names(results, compared), [0, compared + 1]
    sensors, lenses, cameras = {}, {}, []
    for k, name in zip(rows, names):
        site = site_of(as_run(results, k))
        shown = str(results["shown_lens"].values[k])
        camera = next(each for each in lens_cameras(site) if each.lens == shown)
        sensors[name], lenses[name] = site.sensors[camera.sensor], site.lenses[shown]
        mount = {"position_m": camera.position_m, "height_m": camera.height_m, "bearing_deg": 0.0}
        cameras.append(
            {"mark": "AB"[len(cameras)], **mount, "depression_deg": camera.depression_deg, "sensor": name, "lens": name}
        )
    base = run.site
    rules = [{"kind": "line", "perimeter": base.perimeter[0].name}]
    site = base.replace(sensors=sensors, lenses=lenses, camera=cameras, rule=rules, obstacle=(), mounting=(), kit={}, variant=())
    run = run.data.assign_coords(lens=np.array(names), distance=results["distance"].values)
    for end in ("", "_low", "_high"):
        run[f"pd_distance{end}"] = (("weather", "lens", "distance"), np.swapaxes(results[f"pd_distance{end}"].values[rows], 0, 1))
    return run.assign_attrs(site_toml=site_to_toml(site))
