"""Cameras as built, and every stretch as designed, as built and as tested, for the report: from the file of `fencecast built`.

Tests: tests/findings/test_proved_words.py.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from fencecast.estimate.results import Results
from fencecast.findings.blocks import BAD, LEFT, NOTE, RIGHT, TEXT, UNBROKEN, Block, Cell, Heading, Line, Table
from fencecast.findings.words import (
    confidence_text,
    first_upper,
    in_class,
    interval_text,
    listed,
    metres_text,
    number_word,
    pd_text,
    plural,
)
from fencecast.prove.proof.builtfile import BuiltPart, CameraPart, SegmentPart
from fencecast.prove.proof.proof import Proof
from fencecast.prove.walks.chance import interval

Z95 = 1.959964
# What a bracket can be set to (judgement): less is not worth a word.
LEAST_DEG, LEAST_M = 0.3, 0.10
_ANGLES = (("bearing_deg", "bearing"), ("depression_deg", "depression"), ("roll_deg", "roll"))
MOST_ROWS = 40
_NO_DATA = "no data"


@dataclass(frozen=True)
class Stretch:
    """Touching segments of one section and class with the same verdicts. metres: their length. lowest: Pd as designed and as
    built at the lowest segment of each, with its ends, NaN without data; verdicts: of design and built; tested: alarms, walks."""

    section: str
    start_m: float
    end_m: float
    code: str
    metres: float
    design: tuple[float, float, float]
    built: tuple[float, float, float]
    design_verdict: str
    built_verdict: str
    tested: tuple[int, int] | None


def moved(camera: CameraPart) -> bool:
    """Whether the marks say for certain that a camera is not as it was designed, by as much as a bracket can be set to."""
    turned = any(_certain(camera, name, LEAST_DEG) for name, _ in _ANGLES)
    return camera.fits and (turned or any(_certain(camera, name, LEAST_M) for name in ("height_m", "x_m", "y_m")))


def _certain(camera: CameraPart, name: str, least: float) -> bool:
    by = abs(getattr(camera.moved, name))
    return by >= least and by > Z95 * getattr(camera.sd, name)


def built_finding(built: BuiltPart) -> str:
    """`Of two cameras that were measured one is not as designed, and one fits no pose.` Which is not said."""
    many, odd, off = len(built.cameras), sum(not camera.fits for camera in built.cameras), sum(map(moved, built.cameras))
    start = "The one camera that was measured" if many == 1 else f"Of {plural(many, 'camera')} that were measured"
    if many == 1:
        return (
            f"{start} {'fits no pose' if odd else 'is not as designed' if off else 'is as designed, as far as its marks tell'}."
        )
    parts = [f"{number_word(off)} {'is' if off == 1 else 'are'} not as designed"] if off else []
    parts += [f"{number_word(odd)} {'fits' if odd == 1 else 'fit'} no pose"] if odd else []
    return f"{start} {', and '.join(parts)}." if parts else f"{start} all are as designed, as far as their marks tell."


def camera_blocks(built: BuiltPart) -> list[Block]:
    """A row for each camera, and those that fit no pose or were not read."""
    rows: list[list[str | Cell]] = []
    for camera in built.cameras:
        names = [*((name, 1) for name, _ in _ANGLES), ("height_m", 2)]
        changes = [_change(getattr(camera.moved, name), getattr(camera.sd, name), digits) for name, digits in names]
        state = Cell("moved" if moved(camera) else "as designed", TEXT) if camera.fits else Cell("fits no pose", BAD)
        rows.append([camera.mark, *(changes if camera.fits else [""] * len(changes)), state])
    columns = [("camera", UNBROKEN), *((f"{word}, °", RIGHT) for _, word in _ANGLES), ("height, m", RIGHT), ("found", LEFT)]
    blocks: list[Block] = [
        Heading("Cameras as built"),
        Table.of(columns, rows),
        Line(
            "Built minus designed, with the half width of the 95 % interval that the marks leave. Positive: to the right, lower, "
            "right side lower, higher up. A pose is relative to the ground through its marks: a slope is invisible.",
            NOTE,
        ),
    ]
    for camera in built.cameras:
        if not camera.fits:
            why = listed([each.what for each in camera.explanations]) if camera.explanations else "no single mistake explains it"
            blocks.append(Line(f"{camera.mark} fits no pose and counts as designed: {why}."))
    if built.not_read:
        blocks.append(Line(f"Not measured, as designed: {listed(list(built.not_read))}."))
    return blocks


def _change(by: float, sd: float, decimals: int) -> str:
    return f"{by:+.{decimals}f} ±{Z95 * sd:.{decimals}f}".replace("-", "−")


def stretches(proof: Proof, weather: str) -> list[Stretch]:
    """Design, built and tested in one class, stretch by stretch; empty where the file has no run of it.

    Walks count where they were walked, in the weather of the plan alone. A segment that was walked is a stretch by itself.
    """
    built = proof.built
    if built is None or built.run is None:
        return []
    segments = [each for each in built.run.segments if each.weather == weather]
    ends = _ends(segments)
    walked = _walked(proof, weather, segments, ends)
    found: list[Stretch] = []
    group: list[int] = []
    for k in range(len(segments)):
        if group and not _alike(segments, walked, group[-1], k):
            found.append(_stretch(segments, ends, walked, group))
            group = []
        group.append(k)
    return [*found, _stretch(segments, ends, walked, group)] if group else found


def _ends(segments: Sequence[SegmentPart]) -> list[tuple[float, float]]:
    """Start and end of each segment [m] from the middles: half way to the neighbours of its section."""
    ends: list[tuple[float, float]] = []
    for k, each in enumerate(segments):
        near = [
            abs(other.chainage_m - each.chainage_m)
            for other in segments[max(k - 1, 0) : k + 2]
            if other is not each and other.section == each.section
        ]
        half = 0.5 * min(near) if near else 0.5
        ends.append((each.chainage_m - half, each.chainage_m + half))
    return ends


def _walked(
    proof: Proof, weather: str, segments: Sequence[SegmentPart], ends: Sequence[tuple[float, float]]
) -> Mapping[int, tuple[int, int]]:
    """Alarms and walks by segment: of the score, else of the file itself."""
    found: dict[int, tuple[int, int]] = {}
    for k, each in enumerate(segments):
        if each.tested is not None:
            found[k] = (each.tested.alarms, each.tested.walks)
    plan, score = proof.plan, proof.score
    if plan is None or score is None or plan.weather != weather:
        return found
    found = {}
    places = {place.place: place for place in plan.places}
    for name, walks, alarms in score.walked:
        place = places[name]
        for k, each in enumerate(segments):
            if each.section == place.section and ends[k][0] <= place.chainage_m + 1e-9 < ends[k][1] + 2e-9:
                before = found.get(k, (0, 0))
                found[k] = (before[0] + alarms, before[1] + walks)
                break
    return found


def _alike(segments: Sequence[SegmentPart], walked: Mapping[int, tuple[int, int]], a: int, b: int) -> bool:
    one, other = segments[a], segments[b]
    same = (one.design.verdict, one.built.verdict) == (other.design.verdict, other.built.verdict)
    return same and one.section == other.section and a not in walked and b not in walked


def _stretch(
    segments: Sequence[SegmentPart],
    ends: Sequence[tuple[float, float]],
    walked: Mapping[int, tuple[int, int]],
    group: Sequence[int],
) -> Stretch:
    first, last = segments[group[0]], segments[group[-1]]
    start, end = ends[group[0]][0], ends[group[-1]][1]
    letter = first.place.partition(" ")[0]
    code = first.place if len(group) == 1 else f"{letter} {start:,.0f}–{end:,.0f} m"

    def lowest(which: str) -> tuple[float, float, float]:
        known = [getattr(segments[k], which) for k in group if getattr(segments[k], which).pd is not None]
        if not known:
            return math.nan, math.nan, math.nan
        low = min(known, key=lambda each: each.pd)
        return low.pd, low.pd if low.pd_low is None else low.pd_low, low.pd if low.pd_high is None else low.pd_high

    return Stretch(
        last.section, start, end, code, end - start, lowest("design"), lowest("built"), first.design.verdict,
        first.built.verdict, walked.get(group[0]),
    )  # fmt: skip


def tested_cell(tested: tuple[int, int] | None, confidence: float, requirement: float) -> Cell:
    """`5 of 6 (0.36 to 1.00)` with the verdict of that interval below it; empty where nobody walked."""
    if tested is None or not tested[1]:
        return Cell("")
    low, high = interval(tested[1], tested[1] - tested[0], confidence)
    verdict = "meets" if low >= requirement else "weak" if high < requirement else "undecided"
    return Cell(f"{tested[0]} of {tested[1]} ({low:.2f} to {high:.2f})", below=verdict)


def stretch_blocks(proof: Proof, weather: str, requirement: float) -> list[Block]:
    """The table of three columns; of the stretches that were walked, are weak, or changed, the others counted."""
    every = stretches(proof, weather)
    if not every or proof.built is None or proof.built.run is None:
        return []
    sure = proof.built.run.confidence
    worth = [
        each
        for each in every
        if each.tested or each.design_verdict != each.built_verdict or each.built_verdict not in ("meets", _NO_DATA)
    ]
    shown = worth[:MOST_ROWS]
    rows: list[list[str | Cell]] = [
        [
            Cell(each.code, below=each.section), _cell(each.design, each.design_verdict), _cell(each.built, each.built_verdict),
            tested_cell(each.tested, sure, requirement),
        ]
        for each in shown
    ]  # fmt: skip
    if not rows:
        return [
            Heading(f"Stretch by stretch, {in_class(weather)}"),
            Line(f"Every stretch meets {pd_text(requirement)} in both, and nobody walked."),
        ]
    columns = [("stretch", UNBROKEN), ("design", LEFT), ("built", LEFT), ("tested", LEFT)]
    more = _left_out(len(every) - len(shown), len(worth) > len(shown))
    return [
        Heading(f"Stretch by stretch, {in_class(weather)}"),
        Table.of(columns, rows),
        Line(
            f"Pd of the lowest metre of the stretch with its {confidence_text(sure)} interval and the verdict, as designed and "
            f"as built, on the same crossings; tested: alarms of walks with the exact {confidence_text(sure)} interval, blank "
            "where nobody walked. Walks do not climb: they and the model's crossings are tied through N50 and correlation "
            f"alone.{more}",
            NOTE,
        ),
    ]


def _left_out(count: int, cut: bool) -> str:
    """What the table does not show. cut: among them are stretches that are weak, changed or walked."""
    if not count:
        return ""
    what = f" {first_upper(plural(count, 'stretch', 'stretches'))} more"
    if cut:
        return f"{what} {'is' if count == 1 else 'are'} not shown."
    return f"{what} {'meets' if count == 1 else 'meet'} the requirement in both, and nobody walked there."


def _cell(pd: tuple[float, float, float], verdict: str) -> Cell:
    if math.isnan(pd[0]):
        return Cell(_NO_DATA)
    return Cell(interval_text(*pd), below=verdict)


def metres_by_verdict(proof: Proof, weather: str) -> tuple[dict[str, float], dict[str, float]]:
    """Metres by verdict, as designed and as built."""
    counts: tuple[dict[str, float], dict[str, float]] = ({}, {})
    for each in stretches(proof, weather):
        for found, verdict in zip(counts, (each.design_verdict, each.built_verdict)):
            found[verdict] = found.get(verdict, 0.0) + each.metres
    return counts


def classes_of_run(built: BuiltPart) -> tuple[str, ...]:
    """Weather classes of the run, in its order."""
    return () if built.run is None else tuple(dict.fromkeys(each.weather for each in built.run.segments))


def shown_class(proof: Proof, results: Results) -> str:
    """The class of the table: that of the walks, else the worst of the results; '' without a run."""
    known = classes_of_run(proof.built) if proof.built is not None else ()
    if proof.plan is not None and proof.plan.weather in known:
        return proof.plan.weather
    return next((name for name in (c.name for c in results.worst_first) if name in known), known[0] if known else "")


def metres_rows(proof: Proof, units: str) -> list[tuple[str, str, str, str, str]]:
    """Class, metres that meet and metres weak in the design, and the same as built."""
    built, rows = proof.built, []
    for name in classes_of_run(built) if built is not None else ():
        before, after = metres_by_verdict(proof, name)
        numbers = (metres_text(each.get(verdict, 0.0), units) for verdict in ("meets", "weak") for each in (before, after))
        rows.append((name, *numbers))
    return rows
