"""Encounters with the bodies that come past a site, for whoever counts alarms; a site without bodies never imports their loop."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import TYPE_CHECKING

from fencecast.estimate.exposure import Exposure
from fencecast.estimate.options import RunOptions

if TYPE_CHECKING:
    from fencecast.estimate.encounters import Encounters

STAGE = "encounters"  # of the progress


def encounters_of(
    site,
    exposure: Exposure,
    classes: Sequence,
    plan,
    options: RunOptions,
    points: Sequence[int] = (),
    heard: Callable[[int, int], None] | None = None,
) -> Encounters | None:
    """Of every body of the exposure; None where there is none.

    classes, plan, points (the first and the most of each scrambling; its own when empty): as `simulate_encounters` takes them.
    heard(done, expected): who listens, in encounters; of the options when left out.
    """
    if not exposure.bodies:
        return None
    from fencecast.estimate.encounters import simulate_encounters

    heard = options.heard(STAGE) if heard is None else heard
    return simulate_encounters(
        site, exposure.bodies, options.seed, classes, plan, *points, threads=options.threads, progress=heard
    )
