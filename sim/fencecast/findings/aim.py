"""What `fencecast aim` says in the terminal and as JSON."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from fencecast.cautions import CAUTION
from fencecast.estimate.placecodes import section_letters
from fencecast.findings.aimhow import no_marks_words, told_words
from fencecast.findings.aimwords import cost_table, mark_place
from fencecast.findings.blocks import CAUTION_ROLE, LEFT, NOTE, RIGHT, TITLE, UNBROKEN, Block, Heading, Line, Table, written_lines
from fencecast.prove.aim import Aim, CameraAim
from fencecast.prove.marks import FEWEST, MARGINS


def aim_object(aim: Aim, files: Sequence[str]) -> dict[str, Any]:
    """The JSON object of `aim --json`: metres, degrees, pixels."""
    site = aim.site
    letters = section_letters(site)
    return {
        "title": site.title,
        "issue": aim.issue,
        "for": aim.reader,
        "site_sha256": site.sha256,
        "cameras": [_camera_object(aim, each, letters) for each in aim.cameras],
        "files": list(files),
        "caution": CAUTION,
    }


def _camera_object(aim: Aim, camera: CameraAim, letters: tuple[str, ...]) -> dict[str, Any]:
    mount, choice = camera.mount, camera.choice
    marks = []
    for mark, tapes in zip(choice.marks, camera.tapes):
        starts = [{"x_m": t.start.x_m, "y_m": t.start.y_m, "kind": t.start.kind, "length_m": t.length_m} for t in tapes]
        marks.append(
            {
                "mark": mark.number,
                "place": mark_place(aim.site, mark),
                "section": letters[mark.section],
                "chainage_m": mark.chainage_m,
                "inside_m": mark.inside_m,
                "x_m": mark.x_m,
                "y_m": mark.y_m,
                "column": mark.column,
                "row": mark.row,
                "from_mast_m": mark.from_mast_m,
                "tapes": starts,
            }
        )
    cost = camera.cost
    falls = None if cost is None else [
        {
            "camera_aims": fall.way,
            "degrees": fall.error_deg,
            "pd_change": fall.pd_change,
            "section": None if fall.section is None else letters[fall.section],
            "from_m": None if fall.section is None else fall.start_m,
            "to_m": None if fall.section is None else fall.end_m,
        }
        for fall in cost.falls
    ]  # fmt: skip
    return {
        "mark": mount.mark,
        "x_m": mount.x_m,
        "y_m": mount.y_m,
        "height_m": mount.height_m,
        "bearing_deg": mount.bearing_deg,
        "bearing_true_deg": mount.true_deg,
        "inwards_of_fence_deg": mount.inwards_deg,
        "depression_deg": mount.depression_deg,
        "horizontal_field_deg": mount.horizontal_field_deg,
        "vertical_field_deg": mount.vertical_field_deg,
        "axis_meets_m": None if mount.axis_m is None else list(mount.axis_m),
        "feet_in_view_from_m": mount.feet_from_m,
        "horizon_row": mount.horizon_row,
        "tolerance_px": list(mount.tolerance_px),
        "marks": marks,
        "stands_on": choice.stands_on,
        "inside_frame": choice.margin,
        "standard_deviations": choice.sd,
        "no_marks": choice.reason or None,
        "cost_weather": None if cost is None else cost.weather,
        "cost": falls,
    }


def aim_blocks(aim: Aim, files: Sequence[str], left: Sequence[str] = ()) -> list[Block]:
    """The report for a terminal: a row a camera, then what needs a sentence."""
    site = aim.site
    rows = []
    for each in aim.cameras:
        mount, sd = each.mount, each.choice.sd
        told = [f"{sd[key]:.2f}" for key in ("bearing_deg", "depression_deg", "roll_deg", "height_m")] if sd else ["", "", "", ""]
        set_to = [f"{mount.height_m:.2f}", f"{mount.bearing_deg:.1f}", f"{mount.depression_deg:.1f}"]
        rows.append([mount.mark, *set_to, str(len(each.choice.marks)), *told])
    columns = [("camera", UNBROKEN), *((name, RIGHT) for name in ("height, m", "bearing", "depression", "marks"))]
    columns += [(name, RIGHT) for name in ("bearing to", "depression to", "roll to", "height to, m")]
    blocks: list[Block] = [
        Line(site.title, TITLE),
        Table.of(columns, rows),
        Line("Degrees; 'to': one standard deviation of what the marks tell, read to one pixel each.", NOTE),
    ]
    blocks += [Line(f"{each.mount.mark}: {text}", apart=i == 0) for i, (each, text) in enumerate(_remarks(aim.cameras))]
    costed = [each for each in aim.cameras if each.cost is not None]
    if costed:
        blocks.append(Heading("What an error of aim costs"))
        tables = [(each.mount.mark, cost_table(site, each.cost)) for each in costed]
        headings = [("camera", UNBROKEN), *((name, LEFT) for name in tables[0][1].headings)]
        lines = [[mark, way, *(text for text, _ in cells)] for mark, table in tables for way, cells in table.rows]
        blocks += [Table.of(headings, lines), Line(tables[0][1].note, NOTE)]
    written = written_lines(files, left) if files else []
    return [*blocks, *written, Line(CAUTION, CAUTION_ROLE, apart=True)]


def _remarks(cameras: Sequence[CameraAim]) -> list[tuple[CameraAim, str]]:
    """What is unusual of a camera's marks."""
    found = []
    for each in cameras:
        choice = each.choice
        if not choice.marks:
            found.append((each, no_marks_words(each)))
            continue
        if choice.stands_on == "person":
            found.append((each, "a bottle would be too small in its picture: a person stands on its marks."))
        if choice.margin < MARGINS[0]:
            found.append(
                (each, f"marks are {100 * choice.margin:g} % of the width inside the picture, not {100 * MARGINS[0]:g} %.")
            )
        if len(choice.marks) < FEWEST:
            found.append((each, f"{len(choice.marks)} of {FEWEST} marks: too few to tell how it is turned in the end."))
        elif not told_words(each):
            found.append((each, "its marks do not tell roll and height apart."))
    return found
