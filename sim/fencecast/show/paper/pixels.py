"""Camera pixels on paper: whole numbers of device pixels, one grey scale, crops of one size, outlines along pixel edges.

Arrays are (rows, columns) of the sensor.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from matplotlib.image import AxesImage

from fencecast.onelook import ViewFrame
from fencecast.show.paper import style
from fencecast.show.paper.page import Page

COLDEST_K, WARMEST_K = -1.0, 3.0  # one grey scale for every frame ever drawn: never stretched
GREY_STEPS = 80  # 0.05 K each, about half the noise: what is lost is not seen, and the file stays small
COARSE_GREY_STEPS = 40  # for sensors of one device pixel a camera pixel: their noise alone would fill the file
LARGEST_FRAME_PX = (800, 600)  # device pixels at 200 dpi: 101.6 x 76.2 mm
LARGEST_CROP_PX = (252, 300)  # device pixels: 32 x 38 mm
PIXEL_MM = style.PIXEL_MM


@dataclass(frozen=True)
class Window:
    """A crop of the frame, in pixels of the sensor: columns from `left`, rows from `top`."""

    left: int
    top: int
    columns: int
    rows: int

    def of(self, array: np.ndarray) -> np.ndarray:
        return array[self.top : self.top + self.rows, self.left : self.left + self.columns]


def whole_pixels(mm: float) -> float:
    """The nearest place [mm] that is a whole number of device pixels from the page's left or top edge."""
    return round(mm / PIXEL_MM) * PIXEL_MM


def frame_scale(rows: int, columns: int) -> int:
    """Device pixels a camera pixel; 0 when even one is too many (then camera pixels are averaged)."""
    return min(LARGEST_FRAME_PX[0] // columns, LARGEST_FRAME_PX[1] // rows)


def draw_pixels(page: Page, x: float, y: float, values_k: np.ndarray, scale: int) -> tuple[float, float]:
    """Contrast [K] as grey pixels, its corner at (x, y), each camera pixel `scale` whole device pixels; returns its size [mm]."""
    grey = np.clip((values_k - COLDEST_K) / (WARMEST_K - COLDEST_K), 0.0, 1.0)
    steps = GREY_STEPS if scale > 1 else COARSE_GREY_STEPS
    grey = np.kron(np.round(grey * steps) / steps, np.ones((scale, scale)))
    height, width = grey.shape[0] * PIXEL_MM, grey.shape[1] * PIXEL_MM
    image = AxesImage(page.axes, cmap="gray", interpolation="nearest", origin="upper", zorder=2, resample=False)
    image.set_data(grey)
    image.set_clim(0.0, 1.0)
    image.set_extent((x, x + width, y + height, y))
    image.set_clip_on(False)
    page.axes.add_image(image)
    return width, height


def averaged(values: np.ndarray, block: int) -> np.ndarray:
    """Means of blocks of `block` x `block` pixels; a rest at the right or lower edge is left out."""
    rows, columns = (size // block * block for size in values.shape)
    return values[:rows, :columns].reshape(rows // block, block, columns // block, block).mean(axis=(1, 3))


def outline_segments(mask: np.ndarray) -> np.ndarray:
    """Edges between True and False pixels (the frame's border is no edge): (lines, 2, 2) as (column, row) corners."""
    edges = []
    for row, column in np.argwhere(mask[:, 1:] != mask[:, :-1]):
        edges.append([(column + 1, row), (column + 1, row + 1)])
    for row, column in np.argwhere(mask[1:, :] != mask[:-1, :]):
        edges.append([(column, row + 1), (column + 1, row + 1)])
    return np.array(edges, dtype=float).reshape(-1, 2, 2)


def inside(frame: ViewFrame) -> tuple[float, float, float, float]:
    """The part of the body's rectangle inside the frame (u0, u1, v0, v1), empty when it lies outside."""
    rows, columns = frame.contrast_k.shape
    u0, u1, v0, v1 = frame.rectangle_px
    return min(max(u0, 0), columns), max(min(u1, columns), 0), min(max(v0, 0), rows), max(min(v1, rows), 0)


def crop_size(frames: Sequence[ViewFrame], scale: int, width_px: int) -> tuple[int, int, int]:
    """Columns and rows of every crop and its device pixels a camera pixel.

    The largest magnification at which the largest body still fits, at least that of the frame (there a near body is cut
    by the crop), at most one more than the frame's, and 6 for the usual sensor.
    """
    rows, columns = frames[0].contrast_k.shape
    boxes = [inside(frame) for frame in frames]
    wide = min(columns, int(max(box[1] - box[0] for box in boxes)) + 8)
    tall = min(rows, int(max(box[3] - box[2] for box in boxes)) + 8)
    least, most = max(1, scale), max(2, scale + 1)
    fitting = [m for m in range(least, most + 1) if wide * m <= width_px and tall * m <= LARGEST_CROP_PX[1]]
    m = max(fitting, default=least)
    height = min(rows, LARGEST_CROP_PX[1] // m)
    return min(columns, width_px // m, max(wide, int(0.68 * height))), height, m


def window_of(frame: ViewFrame, columns: int, rows: int) -> Window:
    """The crop about the middle of what is in the frame, pushed inside the frame."""
    all_rows, all_columns = frame.contrast_k.shape
    u0, u1, v0, v1 = inside(frame)
    left = int(np.clip(round(0.5 * (u0 + u1) - columns / 2), 0, all_columns - columns))
    top = int(np.clip(round(0.5 * (v0 + v1) - rows / 2), 0, all_rows - rows))
    return Window(left, top, columns, rows)


def side_by_side(windows: Sequence[Window], columns: int) -> list[int] | None:
    """Whole-pixel shifts that put the windows next to each other in one frame, the nearest at the left; None if no room."""
    width = sum(window.columns for window in windows)
    if width > columns:
        return [0] if len(windows) == 1 else None
    gap = (columns - width) // (len(windows) + 1)
    starts = [gap + i * gap + sum(w.columns for w in windows[:i]) for i in range(len(windows))]
    return [start - window.left for start, window in zip(starts, windows)]


def places_in_frame(frames: Sequence[ViewFrame], windows: Sequence[Window]) -> dict[int, int]:
    """Shift of each person drawn in the one frame, by number: all in view; the nearest are left out when there is no room."""
    shown = [i for i, frame in enumerate(frames) if frame.pixels > 0]
    while shown:
        shifts = side_by_side([windows[i] for i in shown], frames[0].contrast_k.shape[1])
        if shifts is not None:
            return dict(zip(shown, shifts))
        shown = shown[1:]
    return {}
