"""What every check is handed: the site, its cover, the limits, what was found before; and how bad places become findings.

Bad places are joined over gaps of up to 1 m; what is shorter than `least-stretch-m` is dropped; a stretch of up to 3 m that
touches one that an earlier check reported, at least as severe, is the edge of that one, and dropped too.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from functools import cached_property

import numpy as np
import shapely

from fencecast.meteorology.year import Year
from fencecast.review.cover import Cover
from fencecast.review.finding import NOTE, SEVERITIES, Finding, NotAsked, Span
from fencecast.review.ground import yard_of
from fencecast.site import Site
from fencecast.site.review import LIMITS

_JOIN_M, _EDGE_M, _TOUCH_M = 1.0, 3.0, 1.0


@dataclass
class Asked:
    """One review in progress. `reported`: stretches of findings so far with their severity; `not_asked`: what had no answer."""

    site: Site
    cover: Cover
    weather: bool = True
    year: Year | None = None
    reported: list[tuple[Span, str]] = field(default_factory=list)
    not_asked: list[NotAsked] = field(default_factory=list)

    def limit(self, name: str) -> float:
        """A limit of the review: of the site, or the default."""
        own: Mapping[str, float] = self.site.check.limits if self.site.check else {}
        return float(own.get(name, LIMITS[name][0]))

    @cached_property
    def yard(self) -> shapely.Geometry | None:
        """The ground that the fence encloses, None when it closes no ring."""
        return yard_of(self.site)

    def report(self, found: list[Finding]) -> list[Finding]:
        """Remember the stretches of findings, so that their edges are not reported again."""
        self.reported += [(span, each.severity) for each in found if each.severity != NOTE for span in each.spans]
        return found

    def stretches(self, bad: np.ndarray, severity: str = "") -> list[tuple[Span, np.ndarray]]:
        """Bad places (n,) as stretches, each with the numbers of its bad places; severity: of the finding that they would be, ""
        for stretches that are no edge of anything."""
        places, found = self.cover.places, []
        for k in np.unique(places.section[bad]):
            mine = np.flatnonzero(bad & (places.section == k))
            breaks = np.flatnonzero(places.start_m[mine[1:]] - places.end_m[mine[:-1]] > _JOIN_M + 1e-9) + 1
            for part in np.split(mine, breaks):
                span = Span(int(k), float(places.start_m[part[0]]), float(places.end_m[part[-1]]))
                if span.length_m >= self.limit("least-stretch-m") - 1e-6 and not (severity and self._is_edge(span, severity)):
                    found.append((span, part))
        return found

    def _is_edge(self, span: Span, severity: str) -> bool:
        if span.length_m > _EDGE_M + 1e-6:
            return False
        for other, reported in self.reported:
            if other.section == span.section and SEVERITIES.index(reported) <= SEVERITIES.index(severity):
                apart = max(other.start_m - span.end_m, span.start_m - other.end_m)
                if apart <= _TOUCH_M + 1e-6:
                    return True
        return False

    def metres(self, part: np.ndarray) -> float:
        """Length of places by their numbers [m]."""
        return float(self.cover.places.length_m[part].sum())

    def by_section(
        self,
        id: str,
        severity: str,
        bad: np.ndarray,
        limit: float = 0.0,
        facts: Callable[[np.ndarray], Mapping[str, object]] | None = None,
    ) -> list[Finding]:
        """A finding in metres for every section with bad places; facts: more about the places by their numbers."""
        return self.of_stretches(id, severity, self.stretches(bad, severity), limit, facts)

    def of_stretches(
        self,
        id: str,
        severity: str,
        stretches: list[tuple[Span, np.ndarray]],
        limit: float = 0.0,
        facts: Callable[[np.ndarray], Mapping[str, object]] | None = None,
    ) -> list[Finding]:
        """The same from stretches."""
        found = []
        for k in sorted({span.section for span, _ in stretches}):
            spans = tuple(span for span, _ in stretches if span.section == k)
            part = np.concatenate([p for span, p in stretches if span.section == k])
            metres = self.metres(part)
            if metres > limit:
                more = facts(part) if facts else {}
                name = self.site.perimeter[k].name
                found.append(Finding(id, severity, "section", name, metres, "m", limit, spans, facts=more))
        return self.report(found)

    def marks(self, cameras) -> str:
        """Marks of cameras by their numbers, as an object's name."""
        return ", ".join(self.cover.eyes[int(c)].mark for c in cameras)
