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
from fencecast.prove.built.pose import Errors, Marks, Pose, solve_all

REFUSED_BELOW, EXPLAINED_ABOVE = 0.01, 0.05
NAMES_A_MARK_FROM, LENS_FROM = 4, 6
SCALES = (2, 3, 4)
# Kinds of causes, as JSON names them.
HALF_TURN, MIRROR, EXCHANGED, LARGER, SWAPPED, MISREAD, LENS, TAPE, MAST = (
    "half turn", "mirror", "column and row exchanged", "larger picture", "two marks exchanged", "one mark", "lens", "height",
    "mast",
)  # fmt: skip
_FREE_M = 1.0  # prior of a height or a mast that may be typed wrong


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
    causes = list(_causes(names, marks, image, errors))
    found = []
    for kinds in ((), (LENS,), (TAPE,), (MAST,)):
        mine = [each for each in causes if (each.kind in kinds if kinds else each.kind not in (LENS, TAPE, MAST))]
        if not mine:
            continue
        many, free = len(mine), lens_free or LENS in kinds
        held = replace(
            errors, height_m=_FREE_M if TAPE in kinds else errors.height_m, mast_m=_FREE_M if MAST in kinds else errors.mast_m
        )
        sd = [replace(errors, quantum_px=each.quantum_px).of_readings(marks.place, design, tape_m, image) for each in mine]
        for each, own in zip(mine, sd):
            own[[k for k, name in enumerate(names) if each.left_out == name]] = np.inf
        place, read = np.array([marks.place] * many), np.array([each.read for each in mine])
        tapes, designs = np.full(many, tape_m), np.array([design] * many)
        poses = solve_all(place, read, np.array(sd), image, designs, tapes, held, free)
        for each, pose in zip(mine, poses):
            if pose is not None and pose.p > EXPLAINED_ABOVE:
                found.append(Explanation(each.kind, each.marks, each.scale, pose.p, pose))
    return tuple(sorted(found, key=lambda each: -each.p))


@dataclass(frozen=True, eq=False)
class _Cause:
    """A cause and the readings (n, 2) with it mended; left_out: the mark that does not count."""

    kind: str
    read: np.ndarray
    quantum_px: tuple[float, float]
    marks: tuple[str, ...] = ()
    scale: int = 1

    @property
    def left_out(self) -> str | None:
        return self.marks[0] if self.kind == MISREAD else None


def _causes(names: tuple[str, ...], marks: Marks, image: ImageGeometry, errors: Errors) -> Iterator[_Cause]:
    """All that are tried."""
    size, read, quantum = np.array([image.columns, image.rows], dtype=float), marks.read, errors.quantum_px
    yield _Cause(HALF_TURN, size - read, quantum)
    yield _Cause(MIRROR, np.stack([size[0] - read[:, 0], read[:, 1]], axis=1), quantum)
    yield _Cause(EXCHANGED, read[:, ::-1], quantum)
    for scale in SCALES:
        yield _Cause(LARGER, read / scale, (quantum[0] / scale, quantum[1] / scale), scale=scale)
    if len(marks) >= NAMES_A_MARK_FROM:
        for a, b in combinations(range(len(marks)), 2):
            order = list(range(len(marks)))
            order[a], order[b] = b, a
            yield _Cause(SWAPPED, read[order], quantum, (names[a], names[b]))
        for name in names:
            yield _Cause(MISREAD, read, quantum, (name,))
        yield _Cause(TAPE, read, quantum)
        yield _Cause(MAST, read, quantum)
    if len(marks) >= LENS_FROM:
        yield _Cause(LENS, read, quantum)
