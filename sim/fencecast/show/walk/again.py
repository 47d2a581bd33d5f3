"""N50 by date with intervals, the level that is an alarm, delays below (`again.png`)."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from matplotlib.figure import Figure

from fencecast import __version__
from fencecast.findings.rehearsal import with_rehearsal
from fencecast.findings.walkfitwords import n50_text
from fencecast.findings.walknext import again_title
from fencecast.findings.words import plural
from fencecast.prove.fit.again import LIMIT, Dated, WalkAgain
from fencecast.show.paper import style
from fencecast.show.paper.page import Page
from fencecast.show.paper.text import text_width_mm

PANEL_MM, LEFT_MM, LEAST_MM = 62.0, 12.0, 14.0
_TICKS = (0.2, 0.3, 0.5, 0.7, 1.0, 1.5, 2.0, 2.5, 3.0, 4.0, 5.0, 7.0, 10.0, 15.0, 20.0)


@dataclass(frozen=True)
class AgainData:
    """N50 of every log by itself; limits: for each log but the first, the median above which it alone would be an alarm."""

    title: str
    subtitle: str
    dated: tuple[Dated, ...]
    limits: tuple[float, ...]
    attrs: Mapping[str, Any]


def again_data(found: WalkAgain) -> AgainData:
    """The numbers of `again.png`. limits: from all logs before it, put together by their precisions."""
    limits = []
    for k in range(1, len(found.dated)):
        weights = [each.sd_ln**-2 for each in found.dated[:k]]
        mean = sum(w * each.mean_ln for w, each in zip(weights, found.dated)) / sum(weights)
        limits.append(math.exp(mean + LIMIT * math.hypot(sum(weights) ** -0.5, found.dated[k].sd_ln)))
    subtitle = (
        f"{found.question.plan.title}: N50 of every log by itself, with 95 %. Grey step: a median above it is an alarm for that "
        f"log "
        "alone. Below: median delay of the system."
    )
    attrs = {
        "title": found.question.plan.title,
        "version": __version__,
        "what": f"{plural(len(found.dated), 'log')} · plan {found.question.plan_sha256[:8]}",
        "file_kind": "log",
        "site_sha256": found.question.logs[-1].sha256,
    }
    return AgainData(again_title(found), with_rehearsal(subtitle, found.question.rehearsal), found.dated, tuple(limits), attrs)


def plot_again(found: WalkAgain) -> Figure:
    """One column a log in order of dates, equally far apart."""
    data = again_data(found)
    page = Page()
    top = page.heading(data.title, data.subtitle) + 7.0
    left, right, bottom = page.left + LEFT_MM, page.right - 2.0, top + PANEL_MM
    low = math.log(min(each.low for each in data.dated)) - 0.1
    high = math.log(max([*(each.high for each in data.dated), *data.limits])) + 0.1
    step = (right - left) / len(data.dated)

    def y(cycles: float) -> float:
        return bottom - (math.log(cycles) - low) / (high - low) * PANEL_MM

    page.text(page.left, top - 2.0, "N50, cycles", size=style.HEAD, weight="bold")
    last = math.inf
    for tick in _TICKS:
        if low <= math.log(tick) <= high:
            page.line([left, right], [y(tick)] * 2, colour=style.GUIDE, points=0.4, zorder=1)
            if last - y(tick) > 4.0:
                page.text(left - 1.5, y(tick) + 0.9, f"{tick:g}", ha="right", size=style.SMALL, colour=style.SECOND)
                last = y(tick)
    every = max(1, math.ceil(LEAST_MM / step))
    for k, each in enumerate(data.dated):
        at = left + (k + 0.5) * step
        if k:
            limit = y(data.limits[k - 1])
            page.line([at - 0.4 * step, at + 0.4 * step], [limit, limit], colour=style.LINE, points=1.4, zorder=3)
            if k == 1:
                page.text(at - 0.4 * step, limit - 1.3, f"alarm above {n50_text(data.limits[0])}", size=style.SMALL)
        page.line([at, at], [y(each.low), y(each.high)], points=1.0, zorder=5)
        for end in (each.low, each.high):
            page.line([at - 1.0, at + 1.0], [y(end)] * 2, points=1.0, zorder=5)
        above = k > 0 and each.median > data.limits[k - 1]
        page.dot(at, y(each.median), 2.4, colour=style.INK if not above else style.PAPER, edge=style.INK, zorder=7)
        if k % every:
            continue
        if text_width_mm("0.00", style.SMALL) + 3.0 < 0.5 * step:
            page.text(at + 2.0, y(each.median) + 0.9, n50_text(each.median), size=style.SMALL, zorder=8)
        page.text(at, bottom + 4.0, each.date, ha="center", size=style.SMALL, colour=style.SECOND)
        page.text(at, bottom + 7.4, plural(each.walks, "walk"), ha="center", size=style.SMALL, colour=style.SECOND)
        delay = "no times" if each.delay is None else f"{each.delay.median:.1f} s"
        page.text(at, bottom + 12.4, delay, ha="center", size=style.LABEL)
    page.text(left - 1.5, bottom + 12.4, "delay", ha="right", size=style.SMALL, colour=style.SECOND)
    page.rect(left, top, right - left, PANEL_MM, edge=style.LINE)
    page.foot(bottom + 16.0, data.attrs, one_look=True)
    return page.figure
