"""What an error of aim costs: the camera turned by a degree and by three, four ways, on the same crossings as the design.

Tests: tests/prove/test_aimcost.py.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from fencecast.decide.compare.designs import compare
from fencecast.decide.compare.variants import Variant
from fencecast.estimate.dataset import build_results
from fencecast.estimate.options import Progress, RunOptions
from fencecast.estimate.places import worst_first
from fencecast.estimate.simulate import simulate
from fencecast.job import chosen_hours, warm_up
from fencecast.kernels.pack import pack_cells, pack_plan, watched_sections
from fencecast.meteorology.load import classes_of
from fencecast.meteorology.year import Year
from fencecast.site import Site

ERRORS_DEG = (1.0, 3.0)
# Which way, and what is added to bearing and depression for one degree.
WAYS = {"too far left": (-1.0, 0.0), "too far right": (1.0, 0.0), "too low": (0.0, 1.0), "too high": (0.0, -1.0)}
PRECISION = 0.02  # half width of every difference of Pd
WORST_CLASS_PRECISION = 0.05
LEAST_FALL = 0.005


@dataclass(frozen=True)
class Fall:
    """The largest fall of Pd (negative) that an error of aim causes in any segment, and where that segment lies; pd_change 0
    and section None where no segment's fall can be told from chance or reaches 0.005."""

    way: str
    error_deg: float
    pd_change: float
    section: int | None
    start_m: float
    end_m: float


@dataclass(frozen=True)
class Cost:
    """What errors of aim of one camera cost in one weather class, `WAYS` by `ERRORS_DEG`."""

    weather: str
    falls: tuple[Fall, ...]


def costs_of(
    site: Site, marks: Sequence[str], precision: float | None = None, progress: Progress | None = None
) -> dict[str, Cost]:
    """The cost for every camera named, in the weather class that is worst for the site as designed; precision: `PRECISION`."""
    year = chosen_hours(site)
    weather = worst_class(site, year, progress)
    return {mark: cost_of(site, mark, weather, precision, year, progress) for mark in marks}


def worst_class(site: Site, year: Year | None = None, progress: Progress | None = None) -> str:
    """The class with most weak metres, then the lowest mean Pd; simulated, half width 0.05. year: of an hourly site."""
    classes = classes_of(site, year)
    options = RunOptions.of(site, precision=WORST_CLASS_PRECISION, progress=progress)
    plan, cells = pack_plan(site, classes), pack_cells(site, options.seed, classes)
    warm_up(plan, cells)
    active = watched_sections(site)[cells.section]
    tally = simulate(plan, cells, active, confidence=site.requirement.confidence, **options.rounds("worst class"))
    results = build_results(site, classes, tally, {"seed": options.seed})
    return worst_first(results)[0].name


def turned_variants(site: Site, mark: str) -> list[Variant]:
    """The design and the same with one camera turned, in the order of `WAYS` by `ERRORS_DEG`."""
    variants = [Variant("as designed", site.replace(variant=()))]
    for way, (bearing, depression) in WAYS.items():
        for error in ERRORS_DEG:
            cameras = tuple(
                camera
                if camera.mark != mark
                else camera.model_copy(
                    update={
                        "bearing_deg": (camera.bearing_deg + error * bearing) % 360.0,
                        "depression_deg": float(np.clip(camera.depression_deg + error * depression, -90.0, 90.0)),
                    }
                )
                for camera in site.camera
            )
            variants.append(Variant(f"{error:g} degrees {way}", site.replace(camera=cameras, variant=())))
    return variants


def cost_of(
    site: Site,
    mark: str,
    weather: str,
    precision: float | None = None,
    year: Year | None = None,
    progress: Progress | None = None,
) -> Cost:
    """The cost of errors of aim of one camera in one class: differences of `compare`, of which only those count whose whole
    paired interval lies below zero, since the largest of many differences by chance is never zero. precision: `PRECISION` when
    None."""
    precision = PRECISION if precision is None else precision
    found = compare(turned_variants(site, mark), precision=precision, weather=(weather,), year=year, progress=progress)
    change, high = (found[name].values[:, 0, :] for name in ("pd_difference", "pd_difference_high"))
    names = [section.name for section in site.perimeter]
    sections = [names.index(str(name)) for name in found["section"].values]
    starts, ends = found["segment_start_m"].values, found["segment_end_m"].values
    falls = []
    for k, (way, error) in enumerate((way, error) for way in WAYS for error in ERRORS_DEG):
        told = np.where((high[k] < 0.0) & (change[k] <= -LEAST_FALL), change[k], 0.0)
        i = int(np.argmin(told))
        if told[i] == 0.0:
            falls.append(Fall(way, error, 0.0, None, 0.0, 0.0))
        else:
            falls.append(Fall(way, error, float(told[i]), sections[i], float(starts[i]), float(ends[i])))
    return Cost(weather, tuple(falls))
