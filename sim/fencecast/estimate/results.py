"""Results as one object: the Dataset of a run with the site that it is of, its sections, classes, verdicts, hours and units.

The Dataset is what users get and what NetCDF holds. What is said and drawn of it reads it through `Results`, by the names of
dimensions and never by the order of axes.
"""

from __future__ import annotations

from functools import cached_property
from typing import Any

import numpy as np
import xarray as xr

from fencecast.errors import UsageError
from fencecast.site import Site, parse_site

RESULTS_SCHEMA = 2


class Results:
    """What a run found. `data` is the Dataset as users get it; `site` the site that it was computed for."""

    def __init__(self, data: xr.Dataset, site: Site | None = None):
        """UsageError for a Dataset that another version of fencecast made in another format."""
        schema = int(data.attrs.get("schema", 0))
        if schema != RESULTS_SCHEMA:
            raise UsageError(
                f"these results are of format {schema}, made by fencecast {data.attrs.get('version', '(unknown)')}; this version "
                f"reads format {RESULTS_SCHEMA}: run the site again"
            )
        self.data = data
        self._site = site

    @classmethod
    def of(cls, results: Results | xr.Dataset) -> Results:
        """The same object, or a Dataset wrapped."""
        return results if isinstance(results, Results) else cls(results)

    def __getitem__(self, name: str) -> xr.DataArray:
        return self.data[name]

    def __contains__(self, name: str) -> bool:
        return name in self.data

    @property
    def attrs(self) -> dict[str, Any]:
        return self.data.attrs

    @property
    def sizes(self):
        return self.data.sizes

    @cached_property
    def site(self) -> Site:
        """The site of the run, from the text that the results carry when it was not given."""
        return parse_site(str(self.data.attrs["site_toml"])) if self._site is None else self._site

    @property
    def units(self) -> str:
        """ "si", or "us" when feet and Fahrenheit are shown too."""
        return str(self.data.attrs["units"])

    @property
    def requirement(self) -> float:
        """The Pd that every metre needs in every class."""
        return float(self.data.attrs["requirement_pd"])

    @property
    def confidence(self) -> float:
        """Of every interval."""
        return float(self.data.attrs["confidence"])

    def array(self, name: str, *dims: str) -> np.ndarray:
        """The numbers of a variable with its axes in this order; all of its dimensions are named."""
        return self.data[name].transpose(*dims).values

    def at(self, name: str, **positions) -> Any:
        """A variable at positions (numbers, slices or arrays of them) along the dimensions that are named; the others stay whole,
        in their own order. A single number comes as Python's own."""
        variable = self.data[name].variable
        unknown = set(positions) - set(variable.dims)
        if unknown:
            raise KeyError(f"{name} has the dimensions {variable.dims}, not {sorted(unknown)}")
        found = variable.values[tuple(positions.get(str(dim), slice(None)) for dim in variable.dims)]
        return found.item() if np.ndim(found) == 0 and hasattr(found, "item") else found

    @cached_property
    def lengths_m(self) -> np.ndarray:
        """Length of every segment, (segments,) [m]."""
        return self.data["segment_end_m"].values - self.data["segment_start_m"].values

    @cached_property
    def years(self) -> float:
        """Years of the hourly record that hours were divided by; 1 for classes that the site file describes."""
        return float(self.data.attrs.get("period_years", 1.0))

    @cached_property
    def classes(self) -> tuple[str, ...]:
        """Names of the weather classes, in the order of the results."""
        return tuple(str(name) for name in self.data["weather"].values)

    @cached_property
    def marks(self) -> tuple[str, ...]:
        """Marks of the cameras, in the order of the site."""
        return tuple(str(mark) for mark in self.data["camera"].values)

    @cached_property
    def sections(self):
        """The perimeters as the results cut them (`estimate.places.Section`), in the order of the site."""
        from fencecast.estimate.places import sections_of

        return sections_of(self)
