"""What a study's pictures share (`study-*.png`, `front.png`): lines, room for names, steps between ticks."""

from __future__ import annotations

import math
from collections.abc import Sequence

from fencecast.show.paper import style

# The first and the next in the hues of two designs, the others in greys; dashes keep lines distinguishable in grey print.
Line = tuple[str, float, tuple[float, float] | None]  # colour, points, dashes
LINES: tuple[Line, ...] = (
    (style.A_COLOUR, 1.6, None),
    (style.B_COLOUR, 1.4, (4, 1.8)),
    (style.INK, 0.9, None),
    (style.SECOND, 0.9, (6, 1.5)),
    (style.SECOND, 0.9, (1.5, 1.2)),
    (style.LINE, 0.9, None),
    (style.LINE, 0.9, (6, 1.5)),
    (style.LINE, 0.9, (1.5, 1.2)),
)


def spread_out(wanted: Sequence[float], step: float, low: float, high: float) -> list[float]:
    """Places [mm] as near as can be to the wanted ones, `step` apart, in the same order, within low and high if there is room."""
    order = sorted(range(len(wanted)), key=lambda k: wanted[k])
    placed = [0.0] * len(wanted)
    last = low - step
    for k in order:
        last = placed[k] = max(wanted[k], last + step)
    ceiling = max(high, low + step * (len(wanted) - 1))
    for k in reversed(order):
        placed[k] = min(placed[k], ceiling)
        ceiling = placed[k] - step
    return placed


def round_step(span: float) -> float:
    """Distance between ticks for an axis of this length: 1, 2 or 5 times a power of ten, about five of them."""
    rough = max(span, 1e-9) / 5.0
    power = 10.0 ** math.floor(math.log10(rough))
    return next(m * power for m in (1.0, 2.0, 5.0, 10.0) if m * power >= rough - 1e-12)
