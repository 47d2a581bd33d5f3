"""What `to-map` says, in the terminal and inside the files that it writes."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Sequence
from typing import Any

from fencecast.cautions import CAUTION
from fencecast.findings.blocks import RIGHT, UNBROKEN, Block, Line, Table, written_lines
from fencecast.findings.frommap import STILL_TELLS

TELLS_WEAKNESS = "This file tells where the fence is weak: keep it as you keep the keys. --design writes one that does not."
NOWHERE = "The yard is put at 0 N 0 E with its grid north up: it lies somewhere else."


def file_words(requirement: float, shown: str | None, no_location: bool) -> str:
    """What stands in the file itself; shown: the weather of its results, or None without results."""
    parts = []
    if shown is not None:
        which = {"worst": "the worst weather of each place", "year": "the year"}.get(shown, shown)
        parts.append(
            f"Probability that one crossing raises an alarm, in {which}; required {requirement:g}. "
            "Black lines: weak; grey: undecided."
        )
        parts.append(TELLS_WEAKNESS)
    if no_location:
        parts.append(NOWHERE)
    return " ".join([*parts, CAUTION])


def to_map_object(
    title: str, kinds: Iterable[str], files: Sequence[str], place: str, shown: str | None, design: bool
) -> dict[str, Any]:
    """The JSON object of `to-map --json`. place: in words, "" when it is hidden."""
    return {
        "title": title,
        "files": list(files),
        "features": dict(Counter(kinds)),
        "place": place,
        "weather": shown,
        "design": design,
        "caution": CAUTION,
    }


def to_map_blocks(said: dict[str, Any], views: bool) -> list[Block]:
    """The same for a terminal. views: the file holds views and blind ground, which tell of weakness too."""
    rows = [[kind, str(count)] for kind, count in said["features"].items()]
    blocks: list[Block] = [Line(said["title"], role="title"), Table.of([("kind", UNBROKEN), ("features", RIGHT)], rows)]
    if said["place"]:
        blocks.append(Line(f"x = 0, y = 0 lies at {said['place']}", apart=True))
    else:
        blocks += [Line(NOWHERE, apart=True), Line(STILL_TELLS)]
    if said["weather"] is not None or views:
        blocks.append(Line(TELLS_WEAKNESS, role="caution"))
    return [*blocks, *written_lines(said["files"])]
