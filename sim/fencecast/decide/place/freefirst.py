"""What costs nothing comes before a search for cameras: rules that do not hear a camera which sees."""

from __future__ import annotations

from fencecast.decide.freechanges import named_changes
from fencecast.decide.place.demand import Demand, demand_of
from fencecast.decide.remedybench import Bench
from fencecast.site import Site

_POINTS = 8  # of each scrambling, on crossings that no later step sees
_LEAST_M = 0.5  # a change that lifts fewer metres over the requirement, summed over classes, is not worth a line in the file


def free_first(site: Site, demand: Demand) -> tuple[Site, tuple[str, ...]]:
    """The site with the free changes that the design review names and that close metres, and each in words.

    Changes are tried one after the other on one set of crossings; the rest of the search begins from what they leave.
    """
    bench, words = Bench(demand), []
    short = None
    tried: set[str] = set()
    while True:
        change = next((each for each in named_changes(site) if each.words not in tried), None)
        if change is None:
            return site, tuple(words)
        tried.add(change.words)
        if short is None:
            short = bench.short_m(bench.pd(site, "place free", _POINTS)[0])
        after = bench.short_m(bench.pd(change.site, "place free", _POINTS)[0])
        if after <= short - _LEAST_M:
            site, short = change.site, after
            words.append(change.words)


def with_free_changes(site: Site, classes, seed: int, threads: int, from_scratch: bool) -> tuple[Site, tuple[str, ...]]:
    """`free_first` on the cells of the search; without present cameras there is nobody to hear."""
    if from_scratch or not site.camera:
        return site, ()
    return free_first(site, demand_of(site, classes, seed, threads, from_scratch))
