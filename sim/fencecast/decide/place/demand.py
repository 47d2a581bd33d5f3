"""What a site asks of its cameras, cell by cell: metres, middles, codes, what counts, and how a set is judged on its crossings.

Where facilities are sited, the places to be served are called demand (Church and ReVelle 1974, the maximal covering location
problem; [M]). Here they are the cells, segments by weather classes, each weighted by its metres.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from fencecast.decide.place.candidates import Candidate, candidate_plan
from fencecast.decide.place.joint import Joint, pairs_in_view, simulate_joint
from fencecast.estimate.intervals import verdicts
from fencecast.estimate.places import place_code, section_letters
from fencecast.kernels.pack import pack_cells, watched_sections
from fencecast.site import Site
from fencecast.site.geometry import cut_segments


@dataclass(frozen=True)
class Demand:
    """What all rounds of a search share.

    metres, active (cells,): length of each and whether a rule watches it, class by class; middles (segments, 2) [m]; codes
    (segments): how they are printed.
    """

    site: Site
    classes: tuple
    seed: int
    threads: int
    metres: np.ndarray
    middles: np.ndarray
    active: np.ndarray
    codes: tuple[str, ...]

    def simulate(self, chosen: list[Candidate], purpose: str, points: int, progress=None) -> Joint:
        """Tables of some candidates on a stream of crossings of their own."""
        plan = candidate_plan(self.site, chosen, self.classes)
        cells = pack_cells(self.site, self.seed, self.classes, purpose=purpose)
        per_class = len(self.middles)
        seen = pairs_in_view(self.site, plan, self.middles, 0.5 * self.metres[:per_class])
        return simulate_joint(plan, cells, self.active, points, self.threads, progress, np.tile(seen, len(self.classes)))

    def judged(self, joint: Joint, subset) -> tuple:
        """Lowest Pd with its interval and cell, and verdicts by segment (the worst of the classes)."""
        need = self.site.requirement
        pd, half = joint.estimate(subset, need.confidence)
        cell = int(np.nanargmin(pd))
        words = verdicts(np.clip(pd - half, 0, 1), np.clip(pd + half, 0, 1), need.pd).reshape(len(self.classes), -1)
        weak, meets = (words == "weak").any(axis=0), ((words == "meets") | (words == "no data")).all(axis=0)
        data = (words != "no data").any(axis=0)
        length = self.metres[: words.shape[1]]
        by_verdict = [float(length[data & chosen].sum()) for chosen in (meets, ~meets & ~weak, weak)]
        low, high = max(pd[cell] - half[cell], 0.0), min(pd[cell] + half[cell], 1.0)
        return pd, half, (float(pd[cell]), float(low), float(high), cell), by_verdict


def demand_of(site: Site, classes, seed: int, threads: int, from_scratch: bool = False) -> Demand:
    """The cells of a site: their metres, middles and codes (as its proposal has them, without old cameras when from scratch)."""
    cuts = [cut_segments(section, site.site.segment_length_m) for section in site.perimeter]
    metres = np.concatenate([cut.end_m - cut.start_m for cut in cuts])
    codes = [
        place_code(letter, start, end)
        for letter, cut in zip(section_letters(site, not from_scratch), cuts)
        for start, end in zip(cut.start_m, cut.end_m)
    ]
    watched = np.concatenate([np.full(len(cut), good) for cut, good in zip(cuts, watched_sections(site))])
    return Demand(
        site,
        tuple(classes),
        seed,
        threads,
        np.tile(metres, len(classes)),
        np.concatenate([cut.point_m for cut in cuts]),
        np.tile(watched, len(classes)),
        tuple(codes),
    )


def target_of(requirement, precision: float) -> float:
    """What a cell must reach on the crossings of the search, so that a run of this precision is likely to call it met."""
    return min(requirement.pd + precision, 0.5 * (1.0 + requirement.pd))
