"""What the summary sheet and the picture of inputs draw."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

import numpy as np
import xarray as xr

from fencecast.estimate.diagnosis import counted_classes
from fencecast.estimate.results import Results
from fencecast.estimate.sensitivity import INPUTS, WORDS, drivers, drivers_words, listed
from fencecast.estimate.weakest import Place, lowest_places, printed_numbers
from fencecast.findings.installations import built_lines
from fencecast.findings.losses import loss_heading, loss_lines
from fencecast.findings.readings import short_reading
from fencecast.findings.remedy import WHAT_TO_CHANGE, kept_steps
from fencecast.findings.sheetwords import review_box, sheet_notes, table_heading
from fencecast.findings.titles import reason_lines, verdict_line, year_name
from fencecast.findings.yeartitles import hours_sentences, sun_words
from fencecast.show.fence.data import MOST_CLASSES, Fence, FenceRow, class_rows, fence_of, year_row

MOST_BARS = 6
LEAST_SHARE = 0.02  # below it a bar is a hair


@dataclass(frozen=True, eq=False)
class SummaryData:
    """What `plot_summary` draws: verdict and reasons in words, the worst classes (of `classes` in all) and the year along the
    fence, the five weakest places each with one sentence (`readings`), and the notes under the table, the last of them what is
    not modelled. counted: classes with hours; hours: the finding by the hour, in full and shorter, empty without hours.
    boxes: heading and lines of what to change and of what losses cost, when the results carry them."""

    verdict: str
    reasons: tuple[str, ...]
    created: datetime
    fence: Fence
    rows: tuple[FenceRow, ...]
    year: FenceRow | None
    year_name: str
    classes: int
    counted: int
    heading: str
    places: tuple[Place, ...]
    readings: tuple[str, ...]
    hours: tuple[str, ...]
    sun: str
    notes: tuple[str, ...]
    boxes: tuple[tuple[str, tuple[str, ...]], ...] = ()


def _boxes(results: Results) -> tuple[tuple[str, tuple[str, ...]], ...]:
    steps, losses = kept_steps(results), loss_lines(results)
    review = review_box(results)
    found = [(WHAT_TO_CHANGE, tuple(steps))] if steps else []
    found += [(loss_heading(results), tuple(losses))] if losses else []
    return (*found, *([review] if review else []))


def summary_data(results: Results | xr.Dataset) -> SummaryData:
    """Verdict, worst classes, weakest places, notes."""
    results = Results.of(results)
    places = tuple(lowest_places(results, 5))
    return SummaryData(
        verdict=verdict_line(results),
        reasons=(*built_lines(results), *reason_lines(results)),
        created=datetime.fromisoformat(str(results.attrs["created"]).replace("Z", "+00:00")),
        fence=fence_of(results),
        rows=class_rows(results, MOST_CLASSES),
        year=year_row(results),
        year_name=year_name(results),
        classes=results.sizes["weather"],
        counted=len(counted_classes(results)),
        heading=table_heading(places),
        places=places,
        readings=tuple(short_reading(results, place) for place in places),
        hours=tuple(hours_sentences(results)),
        sun=sun_words(results),
        notes=tuple(sheet_notes(results)),
        boxes=_boxes(results),
    )


@dataclass(frozen=True)
class InputShare:
    """One drawn input at one place: its share of the variance of Pd between crossings, alone and together with others, and the
    interval of the latter; all within 0 and 1. alone_known: whether the interval of the share alone lies above 0."""

    words: str
    first: float
    total: float
    low: float
    high: float
    alone_known: bool

    @property
    def known(self) -> bool:
        """Whether the interval lies above 0."""
        return self.low > 0.0


@dataclass(frozen=True)
class SensitivityPanel:
    """One of the weakest places in its class: Pd as printed, what drives it in words, the inputs by their total share."""

    place: str
    weather: str
    pd: float
    words: str
    shares: tuple[InputShare, ...]


@dataclass(frozen=True, eq=False)
class SensitivityData:
    """What `plot_sensitivity` draws: a panel for each named place, lowest Pd first."""

    title: str
    fence: Fence
    panels: tuple[SensitivityPanel, ...]


def sensitivity_data(results: Results | xr.Dataset) -> SensitivityData:
    """Shares of inputs at the weakest places; ValueError for results of a run without `--sensitivity`."""
    results = Results.of(results)
    if "sensitivity_total" not in results:
        raise ValueError("these results carry no shares of inputs; run with sensitivity=True")
    count = results.sizes["place"]
    first = next((p for p in range(count) if drivers(results, p).known), 0)
    title = f"{results.at('place', place=first)}: {drivers_words(results, first)}"
    return SensitivityData(title, fence_of(results), tuple(_panel(results, p) for p in range(count)))


def _panel(results: Results, place: int) -> SensitivityPanel:
    weather, segment = (results.at(f"sensitivity_{name}", place=place) for name in ("weather", "segment"))
    row = results.classes.index(str(weather))
    shares = [results.at(f"sensitivity_{name}", place=place) for name in ("first", "total", "total_low", "total_high")]
    alone_low = results.at("sensitivity_first_low", place=place)
    shown = [v for v in listed(results, place) if shares[1][v] >= LEAST_SHARE][:MOST_BARS]
    return SensitivityPanel(
        str(results.at("place", place=place)),
        str(weather),
        printed_numbers(results, row, int(segment))[0],
        drivers_words(results, place),
        tuple(
            InputShare(WORDS[INPUTS[v]], *(float(np.clip(share[v], 0.0, 1.0)) for share in shares), bool(alone_low[v] > 0.0))
            for v in shown
        ),
    )
