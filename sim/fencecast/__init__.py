"""fencecast: Monte Carlo performance simulator for short-range thermal perimeter detection.

    import fencecast as fc
    site = fc.load_site("yard.toml")
    result = fc.run(site, seed=7, precision=0.02)     # an xarray.Dataset
    fc.plot_plan(result)                              # a matplotlib Figure

Importing this is light: every name below loads its module when it is first used.
"""

from __future__ import annotations

import importlib
import sys
from types import ModuleType

__version__ = "0.1.0"

_HOME = {
    "Site": "site",
    "load_site": "site",
    "parse_site": "site",
    "run": "run",
    "ranges": "ranges",
    "compare": "decide.compare",
    "place": "decide.place",
    "explain": "onelook",
    "eye": "onelook",
    "open_results": "estimate.store",
    "save_results": "estimate.store",
    "plot_plan": "show",
    "plot_fence_strip": "show",
    "plot_cause_strip": "show",
    "plot_distance": "show",
    "plot_summary": "show",
    "plot_sensitivity": "show",
    "plot_weather": "show",
    "plot_year_carpet": "show",
    "plot_optical_range": "show",
    "plot_eye": "show",
    "plot_comparison": "show",
    "plot_one_look": "show",
    "FencecastError": "errors",
    "InputError": "errors",
    "UsageError": "errors",
}
__all__ = ["__version__", *sorted(_HOME)]


def __getattr__(name: str):
    if name in _HOME:
        return getattr(importlib.import_module(f"fencecast.{_HOME[name]}"), name)
    raise AttributeError(f"module {__name__!r} has no attribute {name!r}")


def __dir__():
    return __all__


class _Package(ModuleType):
    """Keeps `fc.run` and `fc.ranges` functions: importing the modules of the same names would hide them."""

    def _function(name: str) -> property:
        return property(lambda self: getattr(importlib.import_module(f"fencecast.{name}"), name), lambda self, module: None)

    run = _function("run")
    ranges = _function("ranges")


sys.modules[__name__].__class__ = _Package
