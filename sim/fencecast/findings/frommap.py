"""What `from-map` says: what was taken, left out, mended and wants a look, and where the site lies."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from fencecast.findings.blocks import LEFT, Block, Heading, Line, Table

if TYPE_CHECKING:
    from fencecast.maps.frommap import Made

OWN_ERROR = (
    "A hand on a picture is off by 0.1 to 0.5 m, and the picture's place by up to metres (judgement): distances count, the place "
    "hardly does. Measure where cameras stand."
)
IS_IT_THERE = "Is that the place? --near LAT,LON, with a place that you know, would tell."
IS_NEAR = "That is within 50 km of the place of --near."
STILL_TELLS = (
    "Without a place, these may still tell where it is: the title, names of fences and cameras, the path of a weather file, "
    "comments, and the outline itself, which matches an aerial picture."
)


def from_map_object(made: Made, file: str, written: bool) -> dict[str, Any]:
    """What was made, as the JSON object of `from-map --json`."""
    report = made.report
    return {
        "file": file,
        "written": written,
        "title": made.site.title,
        "taken": [{"feature": f, "as": what, "name": name, "by": by} for f, what, name, by in report.taken],
        "left_out": [{"feature": f, "why": why} for f, why in report.left],
        "not_taken": [{"feature": f, "properties": list(names)} for f, names in report.passed.items()],
        "notes": list(dict.fromkeys(report.notes)),
        "check_this": [{"where": where, "key": key, "why": why} for where, key, why in report.checks],
        "changes": [{"thing": thing, "key": key, "old": one, "new": two} for thing, key, one, two in report.changes],
        "not_drawn": list(made.not_drawn),
        "place": made.place,
        "counts": {
            "fences": len(made.site.perimeter),
            "fence_m": round(_fence_m(made), 3),
            "obstacles": len(made.site.obstacle),
            "cameras": len(made.site.camera),
            "rules": len(made.site.rule),
            "mountings": len(made.site.mounting),
        },
    }


def from_map_blocks(said: dict[str, Any], no_location: bool, next_command: str, near: bool = False) -> list[Block]:
    """The same for a terminal. near: whether the place was compared with one that was typed."""
    blocks: list[Block] = []
    if said["taken"]:
        rows = [[t["feature"], t["as"], t["name"], t["by"]] for t in said["taken"]]
        blocks += [Heading("Taken"), Table.of([("drawn", LEFT), ("as", LEFT), ("name", LEFT), ("recognised by", LEFT)], rows)]
    if said["left_out"]:
        rows = [[part["feature"], part["why"]] for part in said["left_out"]]
        blocks += [Heading("Left out"), Table.of([("drawn", LEFT), ("why, and what to do", LEFT)], rows)]
    if said["not_taken"]:
        blocks += [Heading("Not taken: properties that are no keys of theirs")]
        blocks += [Line(f"{part['feature']}: {', '.join(part['properties'])}", indent=2) for part in said["not_taken"]]
    if said["notes"]:
        blocks += [Heading("Notes"), *(Line(note, indent=2) for note in said["notes"])]
    if said["changes"]:
        rows = [[part["thing"], part["key"], part["old"], part["new"]] for part in said["changes"]]
        blocks += [Heading("Changed in the file"), Table.of([(word, LEFT) for word in ("thing", "key", "old", "new")], rows)]
    if said["not_drawn"]:
        blocks += [Heading("In the file, not in the drawing"), Line(", ".join(said["not_drawn"]), indent=2)]
    if said["check_this"]:
        blocks += [
            Heading("Check this: values that were taken from no drawing"),
            *(Line(words, indent=2) for words in _checks(said["check_this"])),
        ]
    count = said["counts"]
    blocks.append(
        Line(
            f"{said['title']}: {count['fence_m']:,.1f} m of fence in {_many(count['fences'], 'section')}, "
            f"{_many(count['obstacles'], 'building')}, {_many(count['cameras'], 'camera')}, {_many(count['rules'], 'rule')}",
            apart=True,
        )
    )
    if no_location:
        blocks.append(Line(STILL_TELLS))
    elif said["place"]:
        blocks.append(Line(f"x = 0, y = 0 lies at {said['place']}. {IS_NEAR if near else IS_IT_THERE}"))
    else:
        blocks.append(Line("The drawing is in metres and has no place on the map; --origin LAT,LON would give it one."))
    blocks.append(Line(OWN_ERROR, role="note"))
    if said["written"]:
        blocks += [Line(f"Written  {said['file']}", apart=True), Line(f"Next     {next_command}")]
    else:
        blocks.append(Line(f"Nothing to change in {said['file']}: not written", apart=True))
    return blocks


def _checks(checks: list[dict[str, str]]) -> list[str]:
    """One line for each kind of value, with the things that it stands in."""
    lines: dict[tuple[str, str], list[str]] = {}
    for check in checks:
        lines.setdefault((check["key"], check["why"]), []).append(check["where"])
    return [
        f"{key}{' (' + why + ')' if why else ''}{': ' + _some(places) if any(places) else ''}"
        for (key, why), places in lines.items()
    ]


def _some(places: list[str]) -> str:
    names = list(dict.fromkeys(place for place in places if place))
    return ", ".join(names[:6]) + (f" and {len(names) - 6} more" if len(names) > 6 else "")


def _many(number: int, word: str) -> str:
    return f"{number} {word}{'' if number == 1 else 's'}"


def _fence_m(made: Made) -> float:
    from fencecast.site.geometry import section_length_m

    return float(sum(section_length_m(section) for section in made.site.perimeter))
