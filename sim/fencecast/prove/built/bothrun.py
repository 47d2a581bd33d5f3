"""The design and the site as built on the same crossings.

Tests: tests/prove/built/test_built_run.py.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from fencecast.decide.compare.designs import DEFAULT_PRECISION, compare
from fencecast.decide.compare.variants import Variant
from fencecast.estimate.options import Progress
from fencecast.prove.built.built import AsBuilt

if TYPE_CHECKING:
    import xarray as xr

DESIGN, BUILT = "design", "built"


def run_both(
    found: AsBuilt,
    precision: float = DEFAULT_PRECISION,
    weather: Sequence[str] = (),
    threads: int | None = None,
    progress: Progress | None = None,
    command: str = "",
    seed: int | None = None,
) -> xr.Dataset:
    """A comparison of two designs, as `decide.compare` makes it: the design first, then the site as built.

    precision: half width that every paired difference of Pd must reach; weather: classes, all when none is named.
    """
    sites = [Variant(DESIGN, found.design.replace(variant=())), Variant(BUILT, found.site.replace(variant=()))]
    return compare(sites, seed=seed, precision=precision, weather=weather, threads=threads, progress=progress, command=command)
