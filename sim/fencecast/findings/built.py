"""What `fencecast built` says in the terminal and as JSON."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Any

from fencecast import __version__
from fencecast.cautions import CAUTION
from fencecast.findings.blocks import BAD, CAUTION_ROLE, FINDING, NOTE, RIGHT, TITLE, UNBROKEN, Block, Cell, Line, Table
from fencecast.findings.builtwords import (
    Z95,
    explanation_words,
    headline,
    limit_words,
    misfit_words,
    moved_words,
    p_text,
    signed_number,
)
from fencecast.findings.words import listed
from fencecast.prove.built.built import AsBuilt, BuiltCamera
from fencecast.prove.built.seen import BEARING, DEPRESSION, HEIGHT, LN_FOCAL, ROLL, X, Y

SCHEMA = 1


def built_object(found: AsBuilt, files: Sequence[str]) -> dict[str, Any]:
    """The JSON object of `built --json`: degrees, metres, pixels of the sensor; sd: one standard deviation."""
    return {
        "schema": SCHEMA,
        "title": found.design.title,
        "version": __version__,
        "site_sha256": found.design.sha256,
        "marks_sha256": found.marks_sha256,
        "cameras": [_camera_object(each) for each in found.cameras],
        "not_read": list(found.not_read),
        "not_fitted": list(found.not_fitted),
        "warnings": list(found.warnings),
        "site": files[0] if files else None,
        "files": list(files),
        "caution": CAUTION,
    }


def _camera_object(camera: BuiltCamera) -> dict[str, Any]:
    value, sd, by = camera.pose.value, camera.pose.sd, camera.moved
    angles = {"bearing_deg": BEARING, "depression_deg": DEPRESSION, "roll_deg": ROLL}
    lengths = {"height_m": HEIGHT, "x_m": X, "y_m": Y}

    def named(values) -> dict[str, float]:
        turned = {name: math.degrees(values[k]) for name, k in angles.items()}
        return turned | {name: float(values[k]) for name, k in lengths.items()}

    spread = named(sd)
    if len(sd) > LN_FOCAL:
        spread["focal_length_mm"] = camera.focal_mm * float(sd[LN_FOCAL])
    return {
        "mark": camera.mark,
        **named(value),
        "sd": spread,
        "moved": named(by),
        "cost": camera.pose.cost,
        "dof": camera.pose.dof,
        "p": camera.pose.p,
        "focal_length_mm": camera.focal_mm,
        "marks": [each.name for each in camera.read.marks],
        "not_read": list(camera.read.not_read),
        "residual_px": camera.pose.residual.tolist(),
        "explanations": [
            {"what": explanation_words(camera, each), "kind": each.kind, "marks": list(each.marks), "p": each.p}
            for each in camera.explanations
        ],
        "fits": camera.fits,
        "written": dict(camera.written),
    }


def built_blocks(found: AsBuilt, files: Sequence[str], run: Sequence[Block] = ()) -> list[Block]:
    """The report for a terminal: the finding, a row a camera, what to do, what marks cannot tell; run: what `--run` adds."""
    rows = [_row(each) for each in found.cameras]
    columns = [("camera", UNBROKEN), ("marks", RIGHT), ("bearing", RIGHT), ("depression", RIGHT), ("roll", RIGHT)]
    columns += [("height, m", RIGHT), ("p", RIGHT), ("", UNBROKEN)]
    blocks: list[Block] = [
        Line(found.design.title, TITLE),
        Line(f"{headline(found)}.", FINDING),
        Table.of(columns, rows),
        Line(
            "Built minus designed, degrees and metres, with the 95 % interval of what the marks tell. Positive: to the right, "
            "lower, right side lower, higher up. p: chance of a misfit as large when every reading is good.",
            NOTE,
        ),
    ]
    said = [text for each in found.cameras if each.fits for text in moved_words(each)]
    wrong = [text for each in found.cameras if not each.fits for text in misfit_words(each)]
    blocks += [Line(text, apart=k == 0) for k, text in enumerate(said)]
    blocks += [Line(text, BAD, apart=k == 0) for k, text in enumerate(wrong)]
    if found.not_read:
        blocks.append(Line(f"Not read, as designed: {listed(found.not_read)}.", apart=True))
    blocks += [Line(text, NOTE, apart=k == 0) for k, text in enumerate(limit_words(found))]
    blocks += run
    if files:
        blocks.append(Line(f"Written: {', '.join(files)}", apart=True))
        blocks.append(Line(f"Next: turn them and read the marks again, or keep them so: fencecast run {files[0]}"))
    return [*blocks, Line(CAUTION, CAUTION_ROLE, apart=True)]


def _row(camera: BuiltCamera) -> list[str | Cell]:
    by, sd = camera.moved, Z95 * camera.pose.sd
    turned = [_change(math.degrees(by[k]), math.degrees(sd[k]), 1) for k in (BEARING, DEPRESSION, ROLL)]
    height = _change(float(by[HEIGHT]), float(sd[HEIGHT]), 2)
    verdict = Cell("written") if camera.fits else Cell("does not fit", BAD)
    return [camera.mark, str(len(camera.marks)), *turned, height, p_text(camera.pose.p), verdict]


def _change(value: float, half: float, decimals: int) -> str:
    """`+1.8 ±0.2`."""
    return f"{signed_number(value, decimals)} ±{half:.{decimals}f}"
