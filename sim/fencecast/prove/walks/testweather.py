"""The weather class of a walk test: the dry one in which the site does best, unless another is asked for.

Walk tests are held in clear nights: N50 is learnt where nothing but size and range decides. A claim then holds for that weather.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence

import numpy as np

from fencecast.errors import UnknownNameError
from fencecast.meteorology.load import classes_of, described
from fencecast.prove.walks.asfinished import Crossed
from fencecast.prove.walks.kinds import simulate_walks
from fencecast.prove.walks.places import Spot
from fencecast.site import Site
from fencecast.site.schema import Weather

_SPOTS, _CROSSINGS = 12, 32
_ALIKE = 0.005  # of mean Pd: so near, hours decide
CLEAR_M = 10_000.0  # below it there is haze: common practice, no source


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
    fair = np.array([_fair(described(each)) for each in classes])
    among = np.flatnonzero(fair) if fair.any() else np.arange(len(names))
    best = max(among[pd[among] >= pd[among].max() - _ALIKE], key=lambda k: (hours[k], -k))
    kind = "the class without fog, rain, snow or haze" if fair.any() else "the class"
    return names[best], f"{kind} in which walkers raise an alarm most often, of equal ones the one with most hours"


def _fair(weather: Weather) -> bool:
    """Whether neither fog nor rain nor snow nor haze is in the air."""
    falling = max(weather.rain_mm_h.bounds()[1], weather.snow_mm_h.bounds()[1])
    return weather.fog == "none" and falling <= 0.0 and weather.visibility_m.middle() >= CLEAR_M
