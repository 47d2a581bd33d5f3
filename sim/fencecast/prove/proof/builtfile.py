"""The JSON of `fencecast built` read again: how each camera is turned on the finished site, and what that does to the fence.

Tests: tests/prove/proof/test_proof_files.py.
"""

from __future__ import annotations

from os import PathLike

from pydantic import Field

from fencecast.errors import InputError
from fencecast.prove.proof.reading import Count, Part, Share, Words, read_part


class PosePart(Part):
    """Angles [degrees] and lengths [m]: a pose, its standard deviations, or a difference."""

    bearing_deg: float = 0.0
    depression_deg: float = 0.0
    roll_deg: float = 0.0
    height_m: float = 0.0
    x_m: float = 0.0
    y_m: float = 0.0


class ExplanationPart(Part):
    """One mistake that would explain readings that fit no pose."""

    what: Words


class CameraPart(PosePart):
    """One camera as built. moved: built minus designed; sd: of each."""

    mark: Words
    sd: PosePart
    moved: PosePart
    p: Share | None = None
    fits: bool = True
    explanations: tuple[ExplanationPart, ...] = ()


class PdPart(Part):
    """Pd of a segment with its ends (NaN is written as null: no rule watches there) and its verdict."""

    pd: float | None
    pd_low: float | None
    pd_high: float | None
    verdict: Words


class TestedPart(Part):
    """Walks of a segment."""

    alarms: Count
    walks: Count
    low: Share
    high: Share


class DifferencePart(Part):
    """Built minus design, on the same crossings."""

    mean: float | None
    low: float | None
    high: float | None


class SegmentPart(Part):
    """One segment in one weather class."""

    section: Words
    chainage_m: float
    place: Words
    weather: Words
    design: PdPart
    built: PdPart
    difference: DifferencePart
    tested: TestedPart | None = None


class RunPart(Part):
    """What `built --run` adds: every segment of every class, in the order of the fence."""

    confidence: Share
    precision: float = 0.0
    segments: tuple[SegmentPart, ...]


class BuiltPart(Part):
    """The file. site_sha256: of the design; None in a file that does not say it."""

    title: Words = ""
    site_sha256: Words | None = None
    marks_sha256: Words
    cameras: tuple[CameraPart, ...] = Field(min_length=1)
    not_read: tuple[Words, ...] = ()
    not_fitted: tuple[Words, ...] = ()
    run: RunPart | None = None


def read_built(path: str | PathLike[str]) -> BuiltPart:
    """The file at a path. InputError when it is damaged."""
    found = read_part(path, "built", BuiltPart)
    marks = [camera.mark for camera in found.cameras]
    twice = sorted({mark for mark in marks if marks.count(mark) > 1})
    if twice:
        raise InputError(
            [f"camera {mark} stands in it twice; write it anew with fencecast built --json" for mark in twice], str(path)
        )
    return found
