"""What a picture draws on: marks in millimetres from the top left, whatever they become.

Two surfaces have the same marks, so that one drawing code makes the pictures and the figures of a page in a browser:
`page.Page` (a matplotlib figure, saved as PNG or PDF) and `svgpage.SvgPage` (SVG inside HTML). What every picture has, heading
and foot, is made of those marks and stands here once.
"""

from __future__ import annotations

from abc import ABC, abstractmethod
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import ArrayLike

from fencecast.cautions import CAUTION
from fencecast.findings.calibration import rests_on_rehearsal
from fencecast.findings.condition import only_words, whole_words
from fencecast.findings.rehearsal import with_rehearsal
from fencecast.findings.words import confidence_text
from fencecast.show.paper import style
from fencecast.show.paper.text import shorten, text_width_mm, wrap

Attrs = Mapping[str, Any]  # of results: what heading and foot print
LEAST_SLICE_MM = 0.02  # a lower slice of a stack is a hair
STACK_POINTS = 0.5  # the lines of a stack


@dataclass(frozen=True)
class Fill:
    """How a slice of a stack is filled: its colour, and a hatch of a direction, colour and spacing [mm], None without."""

    colour: str
    direction: str | None
    hatch: str | None
    spacing_mm: float | None


class Surface(ABC):
    """One page; every coordinate and size is in millimetres from the top left corner, y downwards.

    Of two marks the one with the higher `zorder` lies above; of equal ones the later. Colours are hex. Line widths and type sizes
    are points. What a mark returns belongs to its surface.
    """

    def __init__(self, width_mm: float = style.PAGE_WIDTH_MM, margin_mm: float = style.MARGIN_MM):
        self.width_mm, self.margin_mm, self.height_mm = width_mm, margin_mm, 100.0

    @property
    def left(self) -> float:
        return self.margin_mm

    @property
    def right(self) -> float:
        return self.width_mm - self.margin_mm

    # --- marks -----------------------------------------------------------------------------------------------------

    @abstractmethod
    def set_height(self, height_mm: float) -> None:
        """Give the page its height [mm]; what has been drawn keeps its place from the top left."""

    @abstractmethod
    def text(
        self, x: float, y: float, text: str, size: float = style.LABEL, weight: str = "normal", colour: str = style.INK,
        ha: str = "left", va: str = "baseline", plate: bool = False, zorder: float = 10,
    ) -> Any:  # fmt: skip
        """One line of text; (x, y) is its anchor, by default the left end of its baseline. `plate` puts white under it.

        ha: 'left', 'center', 'right'; va: 'baseline', 'center' (of the line, from ascenders to descenders), 'center_baseline' (of
        what stands above the baseline).
        """

    @abstractmethod
    def line(
        self, xs: ArrayLike, ys: ArrayLike, colour: str = style.INK, points: float = 0.6, zorder: float = 4, **more: Any
    ) -> Any:
        """A polyline; `points` is its width [pt]. Ends are butt, so that lengths are true; NaN breaks it.

        more: `dashes` (on, off) in widths of the line; `solid_joinstyle` 'miter', else corners are round.
        """

    @abstractmethod
    def rect(
        self, x: float, y: float, width: float, height: float, fill: str | None = None, edge: str | None = None,
        points: float = 0.5, zorder: float = 2, **more: Any,
    ) -> Any:  # fmt: skip
        """A rectangle with its upper left corner at (x, y); no fill or no edge when that is None."""

    @abstractmethod
    def polygon(
        self, corners_mm: ArrayLike, fill: str | None = None, edge: str | None = None, points: float = 0.5,
        zorder: float = 2, closed: bool = True, **more: Any,
    ) -> Any:  # fmt: skip
        """A polygon by its corners (n, 2)."""

    @abstractmethod
    def polygons(
        self, many_corners_mm: Sequence[ArrayLike], fills: Sequence[str], zorder: float = 2, alpha: float | None = None
    ) -> Any:
        """Many filled polygons without edges (a list of (n, 2) corners and a list of colours); no seam where two touch."""

    @abstractmethod
    def segments(
        self, segments_mm: Any, colour: str = style.INK, points: float = style.HATCH_POINTS, zorder: float = 3,
        capstyle: str = "butt",
    ) -> Any:  # fmt: skip
        """Many short lines at once (an array (lines, 2, 2)). capstyle: 'butt', or 'projecting' where ends must close a corner."""

    @abstractmethod
    def hatch(
        self, corners_mm: ArrayLike, colour: str = style.INK, direction: str = "rising",
        spacing_mm: float = style.HATCH_SPACING_MM, zorder: float = 3,
    ) -> Any:  # fmt: skip
        """Hatch a convex polygon with lines in the page's one phase."""

    @abstractmethod
    def no_data(self, corners_mm: ArrayLike, zorder: float = 2.5) -> None:
        """The mark of 'no data': white, grey dots, a thin frame (convex polygon)."""

    @abstractmethod
    def dot(
        self, x: float, y: float, diameter_mm: float = 1.0, colour: str = style.INK, edge: str | None = None, zorder: float = 6
    ) -> Any:
        """A round dot."""

    @abstractmethod
    def dots(self, centres_mm: np.ndarray, colour: str = style.SECOND, zorder: float = 2.6) -> None:
        """Many dots of the size that 'no data' has (an array (dots, 2))."""

    @abstractmethod
    def stack(
        self, edges: Sequence[tuple[float, float]], tops: np.ndarray, base: float, fills: Sequence[Fill], zorder: float = 2
    ) -> None:
        """Slices stacked upwards from y = `base`, in columns between two x each (`edges`).

        tops: y of each slice's upper edge (slices, columns), the lowest slice first. fills: of each slice. Every upper edge has a
        thin line in ink.
        """

    @abstractmethod
    def cells(
        self, x: float, y: float, steps: np.ndarray, colours: Sequence[str], pixels: tuple[int, int], zorder: float = 2
    ) -> None:
        """A grid of equal cells with its corner at (x, y), coloured by `colours[steps]` (steps: (rows, columns), -1 the last).

        pixels: width and height of a cell in device pixels of the printed picture.
        """

    # --- what every picture has --------------------------------------------------------------------------------------

    def lines_of_text(self, x: float, y: float, lines: Iterable[str], step_mm: float, **how: Any) -> float:
        """Lines of text below each other, the first baseline at y; returns the baseline after the last."""
        for line in lines:
            self.text(x, y, line, **how)
            y += step_mm
        return y

    def heading(self, title: str, subtitle: str, attrs: Attrs | None = None) -> float:
        """Title (one line, else wrapped to two) and subtitle (likewise); returns the y below them, where the picture begins.

        attrs: the results' attributes; when they are of chosen hours only (`run --stress`), a line between the two says which;
        when they rest on walks of a rehearsal, the subtitle begins with that.
        """
        width = self.right - self.left
        y = self.lines_of_text(
            self.left, self.margin_mm + 2.9, wrap(title, width, style.TITLE, "bold", most=2), 4.6, size=style.TITLE, weight="bold"
        )
        only = only_line(attrs, width)[0] if attrs is not None else ""
        subtitle = with_rehearsal(subtitle, attrs is not None and rests_on_rehearsal(attrs))
        if only:
            self.text(self.left, y, only, size=style.HEAD, weight="bold")
            y += 3.8
        y = self.lines_of_text(
            self.left, y + 0.2, wrap(subtitle, width, style.SUBTITLE, most=2), 3.4, size=style.SUBTITLE, colour=style.SECOND
        )
        return y + 0.8

    def foot(self, y: float, attrs: Attrs, one_look: bool = False, condition: bool = True) -> float:
        """Rule, provenance and caution with their top at y; sets the page's height below them and returns it.

        attrs: the results' attributes (title, version, seed, crossings_total, confidence, site_sha256).
        one_look: for pictures without crossings. A condition that was shortened in the heading stands in full above the rule.
        """
        width = self.right - self.left
        for line in condition_lines(attrs, width) if condition else ():
            self.text(self.left, y + 1.6, line, size=style.SMALL)
            y += 3.0
        self.line([self.left, self.right], [y, y], colour=style.LINE, points=0.5)
        self.text(self.left, y + 3.2, provenance_line(attrs, width, one_look), size=style.SMALL, colour=style.SECOND)
        self.text(self.left, y + 6.3, CAUTION, size=style.SMALL)
        self.set_height(y + 6.3 + 1.0 + self.margin_mm * 0.5)
        return self.height_mm


def touching_runs(edges: Sequence[tuple[float, float]]) -> Iterator[slice]:
    """Runs of columns that touch."""
    first = 0
    for k in range(1, len(edges) + 1):
        if k == len(edges) or abs(edges[k][0] - edges[k - 1][1]) > 1e-9:
            yield slice(first, k)
            first = k


def step_line(edges: Sequence[tuple[float, float]], levels: Sequence[float] | np.ndarray) -> list[tuple[float, float]]:
    """Corners of a line that is level over each column."""
    return [(x, level) for edge, level in zip(edges, levels) for x in edge]


def only_line(attrs: Attrs, width_mm: float) -> tuple[str, bool]:
    """`Only hours with visibility_m<=100 (21 of 4,344 armed hours a year)`, bold, and whether all of the condition fits.

    '' when the results are of all armed hours.
    """
    start, condition, end = only_words(attrs)
    room = width_mm - sum(text_width_mm(part, style.HEAD, "bold") for part in (start, end)) - 0.5
    shown = shorten(condition, room, style.HEAD, "bold")
    return start + shown + end, shown == condition


def condition_lines(attrs: Attrs, width_mm: float) -> list[str]:
    """The full condition in small lines, when `only_line` had to shorten it."""
    return [] if only_line(attrs, width_mm)[1] else wrap(whole_words(attrs), width_mm, style.SMALL)


def provenance_line(attrs: Attrs, width_mm: float, one_look: bool = False) -> str:
    """`TITLE · fencecast VERSION · seed N · N crossings · 95 % intervals · site file HASH8`; too long, the title gives way."""
    if one_look:
        rest = [f"fencecast {attrs['version']}", str(attrs.get("what", "one look, medians, no crossings"))]
    else:
        rest = [
            f"fencecast {attrs['version']}",
            f"seed {attrs['seed']}",
            f"{int(attrs['crossings_total']):,} crossings",
            f"{confidence_text(float(attrs['confidence']))} intervals",
        ]
    rest.append(f"{attrs.get('file_kind', 'site file')} {str(attrs['site_sha256'])[:8]}")
    tail = " · " + " · ".join(rest)
    return shorten(str(attrs["title"]), width_mm - text_width_mm(tail, style.SMALL), style.SMALL) + tail
