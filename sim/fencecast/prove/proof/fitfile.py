"""calibration.json read again: N50 and the encounter correlation as the walks left them.

Tests: tests/prove/proof/test_proof_files.py.
"""

from __future__ import annotations

from os import PathLike

from pydantic import Field, field_validator

from fencecast.errors import InputError
from fencecast.prove.proof.reading import Count, Part, Share, Words, read_part


class CyclesPart(Part):
    """N50 [cycles], for those who walked; ..._any_intruder: ends for people in general."""

    median: float = Field(gt=0.0)
    low: float = Field(gt=0.0)
    high: float = Field(gt=0.0)
    sd_ln: float = Field(ge=0.0)
    only_from_above: bool = False
    only_from_below: bool = False
    low_any_intruder: float | None = None
    high_any_intruder: float | None = None


class CorrelationPart(Part):
    """The encounter correlation; known: False where the walks left it nearly as uncertain as it was before."""

    mean: float = Field(ge=0.0, le=0.9)
    low: float = Field(ge=0.0, le=0.9)
    high: float = Field(ge=0.0, le=0.9)
    sd: float = Field(ge=0.0)
    known: bool


class SpreadPart(Part):
    """How places differ, standard deviation of ln N50; known: False where too few places were walked to say."""

    median: float = Field(ge=0.0)
    high: float = Field(ge=0.0)
    known: bool = True


class ContrastPart(Part):
    """The factor on threshold and clutter; no numbers where the log does not tell it."""

    median: float | None = None
    low: float | None = None
    high: float | None = None


class PriorPart(Part):
    """What was taken for granted before the walks."""

    median: float = Field(gt=0.0)
    sd_ln: float = Field(ge=0.0)


class FitPart(Part):
    """The file. log_sha256: of every log."""

    title: Words = ""
    plan_sha256: Words
    log_sha256: tuple[Words, ...]
    walks: Count
    places: Count
    walkers: Count
    cycles_50: CyclesPart
    encounter_correlation: CorrelationPart
    place_spread_ln: SpreadPart | None = None
    contrast_factor: ContrastPart | None = None
    prior: PriorPart | None = None
    checks: dict[str, Share | None] = {}
    rehearsal: bool = False

    @field_validator("log_sha256", mode="before")
    @classmethod
    def _several(cls, value: object) -> object:
        return (value,) if isinstance(value, str) else value


def read_fit(path: str | PathLike[str]) -> FitPart:
    """The calibration at a path. InputError when it is damaged or does not agree with itself."""
    found = read_part(path, "calibration", FitPart)
    problems = []
    n50, r = found.cycles_50, found.encounter_correlation
    if not n50.low <= n50.median <= n50.high:
        problems.append(f"cycles_50: median {n50.median:g} does not lie between {n50.low:g} and {n50.high:g}")
    if r.low > r.high:
        problems.append(f"encounter_correlation: low {r.low:g} lies above high {r.high:g}")
    if not found.log_sha256:
        problems.append("log_sha256 names no log")
    if problems:
        raise InputError(
            [f"{each}; the file was changed: write it anew with fencecast walk fit -o" for each in problems], str(path)
        )
    return found
