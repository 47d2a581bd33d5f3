"""The whole review: every check in the order in which a reviewer asks.

    import fencecast as fc
    found = fc.check("yard.toml")        # found.findings, found.metres, found.not_asked ...

Tests: tests/review.
"""

from __future__ import annotations

import datetime
import time
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from os import PathLike

from fencecast.errors import UnknownNameError
from fencecast.meteorology.year import Year
from fencecast.review.accept import accepted
from fencecast.review.asked import Asked
from fencecast.review.asmeant import as_meant
from fencecast.review.building import building
from fencecast.review.claim import claim
from fencecast.review.conditions import conditions
from fencecast.review.cover import Cover, Metres, cover, geometric_metres
from fencecast.review.failing import failing
from fencecast.review.finding import SEVERITIES, Finding, NotAsked
from fencecast.review.firing import in_time
from fencecast.review.inway import in_the_way
from fencecast.review.land import land
from fencecast.review.nuisance import nuisance
from fencecast.review.picture import picture
from fencecast.review.watched import watched
from fencecast.site import Site, as_site
from fencecast.site.mounting import need_camera
from fencecast.site.review import GROUP_OF, GROUPS, IDS, Accept

# The order matters: a stretch that an earlier check reported is not reported again by its edges.
ORDER: dict[str, Callable[[Asked], list[Finding]]] = {
    "watched": watched,
    "picture": picture,
    "time": in_time,
    "obstacles": in_the_way,
    "failure": failing,
    "mounting": building,
    "weather": conditions,
    "claim": claim,
    "land": land,
    "nuisance": nuisance,
    "file": as_meant,
}


@dataclass(frozen=True, eq=False)
class Review:
    """What a review found, worst first and in the order of the checks; `metres`: geometric coverage; `stale`: acceptances
    that met nothing, with the object; `low_m`: metres whose ceiling is below the requirement; `ids`: what was asked."""

    site: Site
    cover: Cover
    findings: tuple[Finding, ...]
    metres: tuple[Metres, ...]
    low_m: float
    not_asked: tuple[NotAsked, ...]
    stale: tuple[tuple[Accept, str], ...]
    ids: tuple[str, ...]
    seconds: float

    @property
    def open(self) -> tuple[Finding, ...]:
        return tuple(f for f in self.findings if f.open)

    def count(self, severity: str) -> int:
        """Open findings of a severity."""
        return sum(f.severity == severity for f in self.open)

    @property
    def silent(self) -> tuple[str, ...]:
        """Ids that were asked and found nothing."""
        loud = {f.id for f in self.findings} | {each.id for each in self.not_asked}
        return tuple(id for id in self.ids if id not in loud)


def check(
    site: Site | str | PathLike[str],
    only: Sequence[str] = (),
    group: str = "",
    weather: bool = True,
    year: Year | None = None,
    today: datetime.date | None = None,
) -> Review:
    """Review a site as it is drawn: no draws, no weather but for its own plausibility; compiled is only what reads a record.

    only: ids to show; group: a group's word; both look at all and then leave out, so that numbers never depend on them.
    weather: False reads no record and asks no sun. year: the site's hours when they are read already. today: by which
    acceptances end. UnknownNameError for an id or a group that does not exist.
    """
    start = time.perf_counter()
    site = as_site(site)
    for name in only:
        if name not in IDS:
            raise UnknownNameError("check", name, IDS, "fencecast check")
    if group and group not in GROUPS:
        raise UnknownNameError("group", group, list(GROUPS), "fencecast check")
    need_camera(site)
    asked = Asked(site, cover(site), weather, year)
    found = [f for ask in ORDER.values() for f in ask(asked)]
    ids = tuple(id for id in IDS if (not only or id in only) and (not group or GROUP_OF[id] == group))
    rank = {severity: k for k, severity in enumerate(SEVERITIES)}
    found = sorted((f for f in found if f.id in ids), key=lambda f: (rank[f.severity], IDS.index(f.id)))
    marked, stale = accepted(found, site.accept, today or datetime.date.today())
    whole = asked.cover
    low = whole.per_place(whole.ceiling) < float(site.requirement.pd)
    return Review(
        site,
        whole,
        tuple(marked),
        tuple(geometric_metres(whole)),
        float(whole.places.length_m[low].sum()),
        tuple(each for each in asked.not_asked if each.id in ids),
        tuple((accept, name) for accept, name in stale if accept.check in ids),
        ids,
        time.perf_counter() - start,
    )


__all__ = ["Review", "check"]
