"""fencecast: Monte Carlo performance simulator for short-range thermal perimeter detection.

    import fencecast as fc
    site = fc.load_site("yard.toml")
    result = fc.run(site, seed=7, precision=0.02)     # an xarray.Dataset
    fc.plot_plan(result)                              # a matplotlib Figure

Importing this is light: every name below loads its module when it is first used.
"""

import lazy_loader

__version__ = "0.1.0"

__getattr__, __dir__, __all__ = lazy_loader.attach(
    __name__,
    submod_attrs={
        "site": ["Site", "load_site", "parse_site"],
        "job": ["run"],
        "lensranges": ["ranges"],
        "decide.compare.designs": ["compare"],
        "decide.place.proposal": ["place"],
        "onelook": ["explain", "view"],
        "estimate.store": ["open_results", "save_results"],
        "show": [
            "plot_cause_strip",
            "plot_comparison",
            "plot_distance",
            "plot_view",
            "plot_fence_strip",
            "plot_one_look",
            "plot_optical_range",
            "plot_plan",
            "plot_sensitivity",
            "plot_summary",
            "plot_weather",
            "plot_year_carpet",
        ],
        "errors": ["FencecastError", "InputError", "UsageError"],
    },
)
__all__ = [*__all__, "__version__"]
