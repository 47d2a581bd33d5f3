"""The end of every report: what is not modelled, and the caution."""

from __future__ import annotations

from fencecast.cautions import CAUTION, NOT_MODELLED
from fencecast.findings.blocks import CAUTION_ROLE, NOTE, Block, Line

# The first mention of Pd in every report.
PD_WORDS = "Pd, here the probability of an alarm after confirmation"


def limits_of(attrs: dict) -> tuple[str, ...]:
    """What the model that made these results leaves out, a sentence each, as their file says it."""
    return tuple(line.strip() for line in str(attrs["not_modelled"]).split("\n") if line.strip())


def limit_lines(limits: tuple[str, ...] = NOT_MODELLED, caution: str = CAUTION) -> list[Block]:
    """Small print with what is left out, and the caution below it."""
    return [Line("Not modelled or uncertain: " + " ".join(limits), NOTE), Line(caution, CAUTION_ROLE)]


def limits_object(attrs: dict | None = None) -> dict:
    """The last keys of every JSON object: `not_modelled` and `caution`."""
    if attrs is None:
        return {"not_modelled": list(NOT_MODELLED), "caution": CAUTION}
    return {"not_modelled": list(limits_of(attrs)), "caution": str(attrs["caution"])}
