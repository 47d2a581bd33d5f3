"""Results as one object: the Dataset of a run with the site that it is of, its sections, classes, verdicts, hours and units.

The Dataset is what users get and what NetCDF holds. What is said and drawn of it reads it through `Results`, by the names of
dimensions and never by the order of axes.
"""

from __future__ import annotations

from collections.abc import Mapping
from functools import cached_property
from typing import TYPE_CHECKING, Any, Self

import numpy as np
import xarray as xr

from fencecast.errors import UsageError, did_you_mean, name_list
from fencecast.site import Site, parse_site

if TYPE_CHECKING:
    from fencecast.estimate.places import ClassSummary, Section
    from fencecast.estimate.weakest import Place

RESULTS_SCHEMA = 2
MOST_NAMED = 12  # labels that an error lists


def check_schema(data: xr.Dataset, name: str = "these results") -> None:
    """UsageError, in one line, for results of another format or for a Dataset that holds none; name: of the file."""
    if not isinstance(data, xr.Dataset) or not {"schema", "site_toml"} <= set(data.attrs):
        raise UsageError(
            f'{type(data).__name__} is not what a run gives: give the Dataset of fc.run(...) or of fc.open_results("results.nc")'
        )
    schema = int(data.attrs["schema"])
    if schema != RESULTS_SCHEMA:
        raise UsageError(
            f"{name} are of format {schema}, made by fencecast {data.attrs.get('version', '(unknown)')}; this version reads "
            f"format {RESULTS_SCHEMA}: run the site again"
        )


class Results:
    """What a run found. `data` is the Dataset as users get it; `site` the site that it was computed for."""

    def __init__(self, data: xr.Dataset, site: Site | None = None):
        """UsageError for a Dataset that another version of fencecast made in another format, or that is none of a run."""
        check_schema(data)
        self.data = data
        self._site = site

    @classmethod
    def of(cls, results: Results | xr.Dataset) -> Self:
        """The same object, or a Dataset wrapped."""
        if isinstance(results, cls):
            return results
        return cls(results.data, results._site) if isinstance(results, Results) else cls(results)

    def __getitem__(self, name: str) -> xr.DataArray:
        return self.data[name]

    def __contains__(self, name: str) -> bool:
        return name in self.data

    @property
    def attrs(self) -> dict[str, Any]:
        return self.data.attrs

    @property
    def sizes(self) -> Mapping[Any, int]:
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

    def at(self, name: str, **positions: Any) -> Any:
        """A variable at positions (numbers, slices or arrays of them) along the dimensions that are named; the others stay whole,
        in their own order. A single number comes as Python's own."""
        variable = self.data[name].variable
        unknown = set(positions) - set(variable.dims)
        if unknown:
            raise KeyError(f"{name} has the dimensions {variable.dims}, not {sorted(unknown)}")
        found = variable.values[tuple(positions.get(str(dim), slice(None)) for dim in variable.dims)]
        return found.item() if np.ndim(found) == 0 and hasattr(found, "item") else found

    def sel(self, place: str | None = None, **labels: Any) -> xr.Dataset:
        """The part of the Dataset that is of a place and of these labels: `sel("A 10-12 m", weather="clear night")`.

        place: as it is printed or typed, `A 10-12 m`, `B 58–68 m`, `A 10 m`, or a section by letter or name; its segments stay a
        dimension, in walking order. labels: of other dimensions by name, one (which takes the dimension out) or a list.
        Variables that do not depend on all that is chosen are left out: pd_year is not of one weather class.
        UsageError, with what was probably meant, for a place or a label that is not there.
        """
        from fencecast.estimate.typedplaces import segments_at

        chosen: dict[str, Any] = {}
        if place is not None:
            chosen["segment"] = segments_at(self, place)
        for name, wanted in labels.items():
            chosen[name] = self._positions(name, wanted)
        kept = [name for name, variable in self.data.data_vars.items() if set(chosen) <= set(variable.dims)]
        return self.data[kept].isel(chosen)

    def _positions(self, name: str, wanted: Any) -> Any:
        """Where labels of a dimension are: one position, or a list of them."""
        known = [str(dim) for dim in self.data.dims if dim in self.data.coords and dim != "segment"]
        if name not in known:
            hint = did_you_mean(name, known)
            raise UsageError(f'these results have no labels "{name}"; there are {name_list(known)}, and places{hint}')
        values = self.data[name].values.tolist()
        many = isinstance(wanted, (list, tuple, np.ndarray))
        for each in wanted if many else [wanted]:
            if each not in values:
                named = [str(value) for value in values]
                more = f" and {len(named) - MOST_NAMED} more" if len(named) > MOST_NAMED else ""
                there = name_list(named[:MOST_NAMED]) + more
                raise UsageError(f'no {name} "{each}" in these results; there are {there}{did_you_mean(each, named)}')
        return [values.index(each) for each in wanted] if many else values.index(wanted)

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
    def sections(self) -> tuple[Section, ...]:
        """The perimeters as the results cut them, in the order of the site."""
        from fencecast.estimate.places import sections_of

        return sections_of(self)

    @cached_property
    def summaries(self) -> tuple[ClassSummary, ...]:
        """Every weather class over the whole fence, in the order of the results."""
        from fencecast.estimate.places import class_summaries

        return tuple(class_summaries(self))

    @cached_property
    def worst_first(self) -> tuple[ClassSummary, ...]:
        """The same, worst first; classes of 0 h/yr come last."""
        from fencecast.estimate.places import worst_first

        return tuple(worst_first(self))

    @cached_property
    def weak_places(self) -> tuple[Place, ...]:
        """Every weak place, lowest Pd first."""
        from fencecast.estimate.weakest import find_weak_places

        return tuple(find_weak_places(self))

    @cached_property
    def year_verdicts(self) -> np.ndarray:
        """Verdict of every segment for the year weighted by hours, (segments,)."""
        from fencecast.estimate.places import year_verdicts

        return year_verdicts(self)


# What is read by the names of variables alone takes either.
AnyResults = Results | xr.Dataset
