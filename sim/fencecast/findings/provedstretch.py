"""Every stretch as designed, as built and as tested, for the report: what the aim alone changes, at one N50.

The file of `fencecast built` has one run of both at the N50 of [decision]: its intervals are of the crossings only, so that no
verdict on the fence is said of it. Tests: tests/findings/test_proved_words.py.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from fencecast.estimate.results import Results
from fencecast.findings.blocks import LEFT, NOTE, UNBROKEN, Block, Cell, Heading, Line, Table
from fencecast.findings.words import confidence_text, first_upper, in_class, interval_text, metres_text, pd_text, plural
from fencecast.prove.proof.builtfile import BuiltPart, SegmentPart
from fencecast.prove.proof.proof import Proof
from fencecast.prove.walks.chance import interval
from fencecast.site import Site

MOST_ROWS = 40
# A change of Pd by aim that is worth a row of its own (judgement), and the least that two decimals show.
_WORTH, _LEAST = 0.02, 0.005
_NO_DATA = "no data"


@dataclass(frozen=True)
class Stretch:
    """Touching segments of one section and class on the same side of the requirement. metres: their length. lowest Pd as
    designed and as built at the lowest segment of each, with its ends, NaN without data; design_enough, built_enough: whether the
    Pd of each is at least the requirement, None without data; change: built minus design where it is largest, and that place,
    None without data; tested: alarms, walks."""

    section: str
    start_m: float
    end_m: float
    code: str
    metres: float
    design: tuple[float, float, float]
    built: tuple[float, float, float]
    design_enough: bool | None
    built_enough: bool | None
    change: tuple[float, str] | None
    tested: tuple[int, int] | None


def stretches(proof: Proof, weather: str, requirement: float) -> list[Stretch]:
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
        if group and not _alike(segments, walked, group[-1], k, requirement):
            found.append(_stretch(segments, ends, walked, group, requirement))
            group = []
        group.append(k)
    return [*found, _stretch(segments, ends, walked, group, requirement)] if group else found


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


def _enough(pd: float | None, requirement: float) -> bool | None:
    return None if pd is None else pd >= requirement


def _sides(segment: SegmentPart, requirement: float) -> tuple[bool | None, bool | None]:
    return _enough(segment.design.pd, requirement), _enough(segment.built.pd, requirement)


def _alike(segments: Sequence[SegmentPart], walked: Mapping[int, tuple[int, int]], a: int, b: int, requirement: float) -> bool:
    one, other = segments[a], segments[b]
    same = _sides(one, requirement) == _sides(other, requirement)
    return same and one.section == other.section and a not in walked and b not in walked


def _stretch(
    segments: Sequence[SegmentPart],
    ends: Sequence[tuple[float, float]],
    walked: Mapping[int, tuple[int, int]],
    group: Sequence[int],
    requirement: float,
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
        last.section, start, end, code, end - start, lowest("design"), lowest("built"), *_sides(first, requirement),
        _largest([segments[k] for k in group]), walked.get(group[0]),
    )  # fmt: skip


def _largest(segments: Sequence[SegmentPart]) -> tuple[float, str] | None:
    """The largest change of Pd by aim, and where."""
    known = [(each.difference.mean, each.place) for each in segments if each.difference.mean is not None]
    return max(known, key=lambda pair: abs(pair[0]), default=None)


def loss_sentence(proof: Proof, places: bool = True) -> str:
    """`The largest loss of Pd by it is 0.04, at A 6–8 m in fog before dawn.`; '' without a run. places: whether it may say where.

    Of all classes; a loss counts that the crossings tell from none."""
    built = proof.built
    if built is None or built.run is None:
        return ""
    lost = [
        (each.difference.mean, each)
        for each in built.run.segments
        if each.difference.mean is not None and each.difference.high is not None and each.difference.high < 0.0
    ]
    most, where = min(lost, key=lambda pair: pair[0], default=(0.0, None))
    if where is None or -most < _LEAST:
        return "No metre loses as much as 0.01 of its Pd by it."
    return f"The largest loss of Pd by it is {-most:.2f}" + (f", at {where.place} {in_class(where.weather)}." if places else ".")


def aim_heading(site: Site) -> str:
    """`Difference by aim alone, at N50 2.78`."""
    n50 = site.decision.cycles_50
    return f"Difference by aim alone, at {f'N50 {n50.middle():.2f}' if n50.is_fixed else 'the N50 of the site file'}"


def aim_note(plain: bool = False) -> str:
    """What the numbers of the section are, and where the verdict stands. plain: without technical words."""
    if plain:
        return "How the aim alone changes the fence, all else alike; the verdict on the fence is in section 1."
    return "Intervals are of the crossings only, at this one N50; the verdict on the fence is in section 1."


def aim_columns(requirement: float) -> tuple[str, str, str, str]:
    """Heads of the columns of `metres_rows` behind the class."""
    enough, under = f"Pd {pd_text(requirement)} or more", f"under {pd_text(requirement)}"
    return f"{enough}, design", f"{enough}, built", f"{under}, design", f"{under}, built"


def tested_cell(tested: tuple[int, int] | None, confidence: float) -> Cell:
    """`5 of 6 (0.36 to 1.00)`; empty where nobody walked."""
    if tested is None or not tested[1]:
        return Cell("")
    low, high = interval(tested[1], tested[1] - tested[0], confidence)
    return Cell(f"{tested[0]} of {tested[1]} ({low:.2f} to {high:.2f})")


def _changed(change: tuple[float, str] | None) -> Cell:
    if change is None:
        return Cell("")
    text = "less than 0.01" if abs(change[0]) < _LEAST else f"{change[0]:+.2f}".replace("-", "−")
    return Cell(text, below="" if abs(change[0]) < _LEAST else change[1])


def stretch_blocks(proof: Proof, weather: str, requirement: float) -> list[Block]:
    """The table; of the stretches that were walked, are under the requirement, or changed, the others counted."""
    every = stretches(proof, weather, requirement)
    if not every or proof.built is None or proof.built.run is None:
        return []
    sure = proof.built.run.confidence
    worth = [each for each in every if each.tested or _matters(each)]
    shown = worth[:MOST_ROWS]
    rows: list[list[str | Cell]] = [
        [
            Cell(each.code, below=each.section), _cell(each.design), _cell(each.built), _changed(each.change),
            tested_cell(each.tested, sure),
        ]
        for each in shown
    ]  # fmt: skip
    head = Heading(f"Stretch by stretch, {in_class(weather)}")
    if not rows:
        return [head, Line(f"Every stretch has Pd {pd_text(requirement)} or more in both, and nobody walked.")]
    # A column in which every row is empty is left out.
    walked = any(each.tested for each in shown)
    columns = [("stretch", UNBROKEN), ("design", LEFT), ("built", LEFT), ("largest change by aim", LEFT)]
    columns += [("tested", LEFT)] if walked else []
    more = _left_out([each for each in every if each not in shown], len(worth) > len(shown), requirement)
    tested = (
        f" Tested: alarms of walks with the exact {confidence_text(sure)} interval, blank where nobody walked. Walks do not "
        "climb: they and the model's crossings are tied through N50 and correlation alone."
    )
    return [
        head,
        Table.of(columns, [row[: len(columns)] for row in rows]),
        Line(
            f"Pd of the lowest metre of the stretch with its {confidence_text(sure)} interval of the crossings, as designed and "
            f"as built, on the same crossings; largest change: of any metre of it.{tested if walked else ''}{more}",
            NOTE,
        ),
    ]


def _matters(each: Stretch) -> bool:
    return each.built_enough is False or each.design_enough != each.built_enough or abs((each.change or (0.0, ""))[0]) >= _WORTH


def _left_out(others: Sequence[Stretch], cut: bool, requirement: float) -> str:
    """What the table does not show. cut: among them are stretches that are weak, changed or walked."""
    if not others:
        return ""
    count = len(others) if cut else sum(each.built_enough is not None for each in others)
    if not count:
        return ""
    what, one = f" {first_upper(plural(count, 'stretch', 'stretches'))} more", count == 1
    if cut:
        return f"{what} {'is' if one else 'are'} not shown."
    words = "has {0} in both, changes" if one else "have {0} in both, change"
    return f"{what} {words.format(f'Pd {pd_text(requirement)} or more')} by less than {_WORTH:.2f}, and nobody walked there."


def _cell(pd: tuple[float, float, float]) -> Cell:
    return Cell(_NO_DATA if math.isnan(pd[0]) else interval_text(*pd))


def metres_by_side(proof: Proof, weather: str, requirement: float) -> tuple[dict[bool, float], dict[bool, float]]:
    """Metres with Pd of the requirement or more (True) and under it (False), as designed and as built."""
    counts: tuple[dict[bool, float], dict[bool, float]] = ({True: 0.0, False: 0.0}, {True: 0.0, False: 0.0})
    for each in stretches(proof, weather, requirement):
        for found, enough in zip(counts, (each.design_enough, each.built_enough)):
            if enough is not None:
                found[enough] += each.metres
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


def metres_rows(proof: Proof, units: str, requirement: float) -> list[tuple[str, str, str, str, str]]:
    """Class, metres with enough in the design and as built, and metres under it in the design and as built."""
    built, rows = proof.built, []
    for name in classes_of_run(built) if built is not None else ():
        before, after = metres_by_side(proof, name, requirement)
        numbers = (metres_text(each[enough], units) for enough in (True, False) for each in (before, after))
        rows.append((name, *numbers))
    return rows
