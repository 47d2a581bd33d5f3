"""What a size gate makes of one look, as if this look were the one that is judged."""

from __future__ import annotations

import math
from typing import NamedTuple

from fencecast.kernels.accept import person_area_px
from fencecast.kernels.look import CYCLES
from fencecast.kernels.pose import optics_of
from fencecast.onelook.scene import Look
from fencecast.physics.acceptance import size_acceptance, size_ratio


class Size(NamedTuple):
    """ratio: in shares of an upright person's at the same place, NaN where none could be pictured; passes: chance to pass."""

    ratio: float
    passes: float


def size_of(look: Look) -> Size | None:
    """The size of what is seen of the person and the chance that the gate passes it; None without a gate, or nothing drawn."""
    decision = look.plan.decision
    if not any(decision.size_gate) or not look.drawn:
        return None
    cycles, motion = float(look.result[CYCLES]), look.body.motion
    area = person_area_px(look.pose, optics_of(look.plan.cameras, look.camera_index), motion.x, motion.y)
    ratio = float(size_ratio(cycles, area))
    return Size(ratio, float(size_acceptance(ratio, cycles, *decision.size_gate, decision.size_spread)))


def gate_words(gate: tuple[float, float]) -> str:
    """`0.45 and more`, `0.45 to 2.5`, `up to 2.5`: the sizes that pass a gate."""
    low, high = gate
    if low > 0.0 and high > 0.0:
        return f"{low:g} to {high:g}"
    return f"{low:g} and more" if low > 0.0 else f"up to {high:g}"


def size_check(size: Size, cycles: float, spread: float) -> str:
    """How the chance is worked out by hand."""
    if math.isnan(size.ratio) or cycles <= 0.0:
        return "nothing to hold it against"
    return f"spread {math.hypot(spread, 0.5 / cycles):.2f}: {spread:g} and a pixel of {2.0 * cycles:.1f}"
