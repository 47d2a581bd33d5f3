"""Pictures from a results file: one style for all, loaded when first used (matplotlib is slow to import)."""

from __future__ import annotations

import importlib

_WHERE = {
    "plot_plan": "plan",
    "plot_fence_strip": "strip",
    "plot_cause_strip": "cause",
    "plot_distance": "distance",
    "plot_summary": "summary",
    "plot_sensitivity": "sensitivity",
    "plot_weather": "weathersummary",
    "plot_year_carpet": "carpet",
    "plot_optical_range": "opticalrange",
    "plot_comparison": "comparison",
    "plot_comparison_distance": "comparisoncurves",
    "plot_worst_loss": "loss",
    "plot_one_look": "onelook",
    "plot_eye": "eye",
    "write_pictures": "write",
    "save_picture": "page",
}
__all__ = sorted(_WHERE)


def __getattr__(name: str):
    if name in _WHERE:
        return getattr(importlib.import_module(f"fencecast.show.{_WHERE[name]}"), name)
    raise AttributeError(f"module {__name__!r} has no attribute {name!r}")


def __dir__():
    return __all__
