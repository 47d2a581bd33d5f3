"""The weather class of a walk test: the one in which the site does best, unless another is asked for.

Walk tests are held in clear nights: N50 is learnt where nothing but size and range decides. A claim then holds for that weather.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence

import numpy as np

from fencecast.errors import UnknownNameError
from fencecast.meteorology.load import classes_of
from fencecast.prove.walks.asfinished import Crossed
from fencecast.prove.walks.kinds import simulate_walks
from fencecast.prove.walks.places import Spot
from fencecast.site import Site

_SPOTS, _CROSSINGS = 12, 32
_ALIKE = 0.005  # of mean Pd: so near, hours decide


def class_of_test(
    site: Site, spots: Sequence[Spot], asked: str | None, direction: str, from_fence: bool, seed: int, threads: int | None,
    progress: Callable[[int, int], None] | None,
) -> tuple[str, str]:  # fmt: skip
    """Name of the class, and why this one. UnknownNameError for a class that the site does not have."""
    classes = classes_of(site)
    names = [each.name for each in classes]
    if asked is not None:
        if asked not in names:
            raise UnknownNameError("weather class", asked, names)
        return asked, "as asked for"
    if len(classes) == 1:
        return names[0], "the site's only weather class"
    few = [spots[int(k)] for k in np.linspace(0, len(spots) - 1, min(_SPOTS, len(spots)))]
    walks = [Crossed(spot.name, spot.chainage_m, "walk", direction) for spot in few]
    steps = simulate_walks(
        site, walks * len(names), [name for name in names for _ in walks], crossings=_CROSSINGS, seed=seed, from_fence=from_fence,
        threads=threads, progress=progress,
    )  # fmt: skip
    pd = steps.pd.reshape(len(names), len(walks)).mean(axis=1)
    hours = np.array([each.hours_per_year for each in classes])
    best = max(np.flatnonzero(pd >= pd.max() - _ALIKE), key=lambda k: (hours[k], -k))
    return names[best], "the class in which walkers raise an alarm most often, of equal ones the one with most hours"
