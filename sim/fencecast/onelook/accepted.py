"""Whether the body of one look would be taken for a person: by its size on the ground where it seems to stand, and its shape."""

from __future__ import annotations

import math
from typing import NamedTuple

from fencecast.kernels.accept import person_area_px
from fencecast.kernels.look import CYCLES
from fencecast.kernels.pose import optics_of
from fencecast.onelook.scene import Look
from fencecast.physics.acceptance import shape_acceptance, size_acceptance, size_ratio


class Acceptance(NamedTuple):
    """Acceptance A = S G of one look as if it were the one that is judged.

    seen_m: ground point (x, y) [m] that the body seems to stand on; person_area_px: of an upright person there; size_ratio: s,
    side against that person's; size_passes: G; shape_passes: S; accepted: A. None where there is nothing to judge: the body is as
    high as the camera, or nothing of it is resolved.
    """

    seen_m: list[float] | None
    person_area_px: float | None
    size_ratio: float | None
    size_passes: float | None
    shape_passes: float | None
    accepted: float | None


def acceptance(look: Look) -> Acceptance:
    """Of a look, whoever it is at; a person has S = 1, and G = 1 without a size gate."""
    motion, position = look.body.motion, [float(value) for value in look.pose.position]
    cycles = float(look.result[CYCLES]) if look.drawn else 0.0
    if motion.base >= position[2]:
        return Acceptance(None, None, None, None, None, None)
    stretch = position[2] / (position[2] - motion.base)
    seen = [float(at + (there - at) * stretch) for at, there in zip(position, (motion.x, motion.y))]
    area = float(person_area_px(look.pose, optics_of(look.plan.cameras, look.camera_index), *seen))
    if cycles <= 0.0:
        return Acceptance(seen, area, None, None, None, None)
    decision = look.plan.decision
    ratio = float(size_ratio(cycles, area))
    size = float(size_acceptance(ratio, cycles, *decision.size_gate, decision.size_spread))
    shape = float(shape_acceptance(cycles, look.shape_cycles, look.subject.confused))
    return Acceptance(seen, area, None if math.isnan(ratio) else ratio, size, shape, size * shape)


def has_gate(look: Look) -> bool:
    """Whether the site's analytics ask for a size at all."""
    return any(float(end) > 0.0 for end in look.plan.decision.size_gate)


def gate_words(gate: tuple[float, float]) -> str:
    """`0.45 and more`, `0.45 to 2.5`, `up to 2.5`: the sizes that pass a gate."""
    low, high = gate
    if low > 0.0 and high > 0.0:
        return f"{low:g} to {high:g}"
    return f"{low:g} and more" if low > 0.0 else f"up to {high:g}"


def size_check(found: Acceptance, cycles: float, decision) -> str:
    """How the chance that the gate passes the size is worked out by hand."""
    if found.size_ratio is None:
        return "nothing to hold it against"
    (low, high), spread = decision.size_gate, math.hypot(decision.size_spread, 0.5 / cycles)
    ends = [f"Φ(ln({found.size_ratio:.3f} / {low:g}) / {spread:.3f})"] * (low > 0.0)
    ends += [f"Φ(ln({high:g} / {found.size_ratio:.3f}) / {spread:.3f})"] * (high > 0.0)
    return f"{' + '.join(ends)}{' - 1' * (len(ends) == 2)}; spread {decision.size_spread:g} and a pixel of {2.0 * cycles:.1f}"
