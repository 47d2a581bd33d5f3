"""Deciding: variants of a site compared on the same crossings, and what each loss of equipment costs."""

from __future__ import annotations

import importlib

# `fencecast.compare` is the function in `decide.compare`: here its module has that name.
_WHERE = {
    "lens_variants": "variants",
    "file_variants": "variants",
    "table_variants": "variants",
    "without_cameras": "losses",
    "lose_each": "losses",
}
__all__ = sorted(_WHERE)


def __getattr__(name: str):
    if name in _WHERE:
        return getattr(importlib.import_module(f"fencecast.decide.{_WHERE[name]}"), name)
    raise AttributeError(f"module {__name__!r} has no attribute {name!r}")


def __dir__():
    return __all__
