"""What is wrong with readings that fit no pose: single causes, each tried by solving again.

Readings are refused when their cost is larger than chance makes it in one case of a hundred. A cause explains them when, with it
mended, the cost is one that chance makes in more than one of twenty. With three marks any one of them can be bent to fit the
others, so no mark is ever named; causes of the whole picture still are.

Tests: tests/prove/built/test_built_mistakes.py.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from itertools import combinations

import numpy as np

from fencecast.camera import ImageGeometry
from fencecast.prove.built.pose import Errors, Marks, Pose, solve

REFUSED_BELOW, EXPLAINED_ABOVE = 0.01, 0.05
NAMES_A_MARK_FROM, LENS_FROM = 4, 6
SCALES = (2, 3, 4)
# Kinds of causes, as JSON names them.
HALF_TURN, MIRROR, EXCHANGED, LARGER, SWAPPED, MISREAD, LENS = (
    "half turn", "mirror", "column and row exchanged", "larger picture", "two marks exchanged", "one mark", "lens",
)  # fmt: skip


@dataclass(frozen=True, eq=False)
class Explanation:
    """One cause. kind: a word of this module; marks: whose it is, by their names; scale: of a larger picture; p and pose: of the
    readings with it mended."""

    kind: str
    marks: tuple[str, ...]
    scale: int
    p: float
    pose: Pose


def explanations(
    names: tuple[str, ...], marks: Marks, image: ImageGeometry, design: np.ndarray, tape_m: float, errors: Errors, lens_free: bool
) -> tuple[Explanation, ...]:
    """Causes that explain the readings, the likeliest first; empty when no single one does. names (n,): of the marks."""
    found = []
    for kind, mine, scale, mended, quantum in _causes(names, marks, image, errors):
        free = lens_free or kind == LENS
        try:
            pose = solve(mended, image, design, tape_m, replace(errors, quantum_px=quantum), free)
        except (ArithmeticError, np.linalg.LinAlgError):
            continue
        if pose.p > EXPLAINED_ABOVE:
            found.append(Explanation(kind, mine, scale, pose.p, pose))
    return tuple(sorted(found, key=lambda each: -each.p))


def _causes(
    names: tuple[str, ...], marks: Marks, image: ImageGeometry, errors: Errors
) -> Iterator[tuple[str, tuple[str, ...], int, Marks, tuple[float, float]]]:
    """Kind, marks that it names, scale, readings with the cause mended, and their quantum."""
    size, read, quantum = np.array([image.columns, image.rows], dtype=float), marks.read, errors.quantum_px

    def other(new: np.ndarray) -> Marks:
        return Marks(marks.place, new)

    yield HALF_TURN, (), 1, other(size - read), quantum
    yield MIRROR, (), 1, other(np.stack([size[0] - read[:, 0], read[:, 1]], axis=1)), quantum
    yield EXCHANGED, (), 1, other(read[:, ::-1]), quantum
    for scale in SCALES:
        yield LARGER, (), scale, other(read / scale), (quantum[0] / scale, quantum[1] / scale)
    if len(marks) >= NAMES_A_MARK_FROM:
        for a, b in combinations(range(len(marks)), 2):
            order = list(range(len(marks)))
            order[a], order[b] = b, a
            yield SWAPPED, (names[a], names[b]), 1, other(read[order]), quantum
        for k in range(len(marks)):
            rest = [i for i in range(len(marks)) if i != k]
            yield MISREAD, (names[k],), 1, Marks(marks.place[rest], read[rest]), quantum
    if len(marks) >= LENS_FROM:
        yield LENS, (), 1, marks, quantum
