"""fencecast: Monte Carlo performance simulator for short-range thermal perimeter detection.

    import fencecast as fc
    site = fc.load_site("yard.toml")
    result = fc.run(site, seed=7, precision=0.02)     # an xarray.Dataset
    fc.plot_plan(result)                              # a matplotlib Figure

What a command does is a function with the command's name and defaults; a path stands for a site wherever one is wanted.
Importing this is light: every name of `__init__.pyi` loads its module when it is first used.
"""

import lazy_loader

__version__ = "0.1.0"

__getattr__, __dir__, __all__ = lazy_loader.attach_stub(__name__, __file__)
__all__ = [*__all__, "__version__"]
