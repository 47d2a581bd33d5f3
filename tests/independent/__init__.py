"""The independent check under its old name, for tests: it lives in `fencecast.evidence.independent`."""

import importlib
import pkgutil
import sys

from fencecast.evidence import independent as _home
from fencecast.evidence.independent import explain, ranges, read_site, simulate

for _module in pkgutil.iter_modules(_home.__path__):
    # One module under two names, so that its classes are the same.
    sys.modules[f"{__name__}.{_module.name}"] = importlib.import_module(f"{_home.__name__}.{_module.name}")

__all__ = ["explain", "ranges", "read_site", "simulate"]
