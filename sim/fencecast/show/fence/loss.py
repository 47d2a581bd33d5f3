"""The fence after the loss that costs most (`worst-loss.png`)."""

from __future__ import annotations

from dataclasses import replace

import xarray as xr
from matplotlib.figure import Figure

from fencecast.estimate.results import Results
from fencecast.findings.losses import newly_weak_words
from fencecast.findings.words import plural
from fencecast.show.fence.lossdata import worst_loss_data
from fencecast.show.fence.strip import LEFT, RIGHT, draw_strip
from fencecast.show.fence.unrolled import Unrolled, camera_spots
from fencecast.show.paper.page import Page
from fencecast.show.paper.text import fitting_title


def plot_worst_loss(results: Results | xr.Dataset, loss: int | None = None) -> Figure:
    """The fence strip as it is after one loss: by default the one with the most metres newly weak over the year.

    results: of a run with losses (`run --lose-each`). Returns a matplotlib Figure, 180 mm wide.
    """
    data = worst_loss_data(results, loss)
    page = Page()
    fence = Unrolled(page, data.strip.fence, LEFT, RIGHT)
    standing = {camera.mark for camera in fence.site.camera}
    spots = camera_spots(data.site, fence.sections)
    fence.lost = {mark: spots[mark] for mark in data.marks if mark not in standing}
    subtitle = (
        f"Fence strip after the loss that costs most of {plural(data.losses, 'single loss', 'single losses')}: "
        f"each section unrolled with {fence.side()}, worst weather class on top"
    )
    draw_strip(
        fence,
        replace(data.strip, title=fitting_title(data.titles, page.right - page.left, lines=2)),
        subtitle,
        data.newly_weak,
        newly_weak_words(data.marks),
    )
    return page.figure
