"""The words of an aim sheet: how a camera is mounted, where its marks lie, what an error of aim costs.

Metres with two decimals, since tapes are read so; with units "us" feet stand beside them. No Pd and no weak place is named here.
Tests: tests/findings/test_aim_words.py.
"""

from __future__ import annotations

from dataclasses import dataclass

from fencecast.estimate.placecodes import section_letters
from fencecast.findings.words import feet, whole
from fencecast.prove.aim import Aim, CameraAim
from fencecast.prove.aimcost import ERRORS_DEG, WAYS, Cost
from fencecast.prove.marks import Mark
from fencecast.prove.mount import Mount
from fencecast.prove.tapes import FixedPoint
from fencecast.site import Site
from fencecast.site.fenceplaces import FencePlace
from fencecast.site.geometry import section_length_m

ON_LINE_M = 0.005
ALONG_DEG = 0.05
LARGE_FALL = 0.10


@dataclass(frozen=True)
class Row:
    """A label and what stands beside it; bold: what the installer sets."""

    label: str
    text: str
    bold: bool = False


@dataclass(frozen=True)
class MarkRow:
    """A row of the table of marks. place is bold, below is small; tapes: for each the name of where it starts, which corner or
    post of it, its length; share: per cent of the picture's width and height."""

    number: int
    place: str
    below: tuple[str, ...]
    tapes: tuple[tuple[str, str, str], ...]
    column: str
    row: str
    share: str


@dataclass(frozen=True)
class CostTable:
    """What an error of aim costs: headings, rows (way, cells with whether they are bold), and the sentence below."""

    headings: tuple[str, ...]
    rows: tuple[tuple[str, tuple[tuple[str, bool], ...]], ...]
    note: str


def length_text(metres: float, units: str, decimals: int = 2) -> str:
    """`21.00 m`, with units "us" `21.00 m (68.90 ft)`."""
    text = f"{metres:,.{decimals}f} m"
    return f"{text} ({feet(metres):,.{decimals}f} ft)" if units == "us" else text


def chainage_words(site: Site, section: int, chainage_m: float, units: str = "si") -> str:
    """`A 21.00 m`; before the start or past the end of an open section `2.00 m before A 0`, `1.50 m past A 48.00 m`."""
    letter, length = section_letters(site)[section], section_length_m(site.perimeter[section])
    if chainage_m < -ON_LINE_M:
        return f"{length_text(-chainage_m, units)} before {letter} 0"
    if chainage_m > length + ON_LINE_M:
        return f"{length_text(chainage_m - length, units)} past {letter} {length_text(length, units)}"
    return f"{letter} {length_text(max(chainage_m, 0.0), units)}"


def inside_words(inside_m: float, units: str = "si") -> str:
    """`1.20 m inside`, `0.40 m outside`, `on the fence line`."""
    if abs(inside_m) < ON_LINE_M:
        return "on the fence line"
    return f"{length_text(abs(inside_m), units)} {'inside' if inside_m > 0 else 'outside'}"


def place_words(site: Site, place: FencePlace, units: str = "si") -> str:
    """`A 0.80 m, 1.20 m inside`."""
    return f"{chainage_words(site, place.section, place.chainage_m, units)}, {inside_words(place.inside_m, units)}"


def mark_place(site: Site, mark: Mark, units: str = "si") -> str:
    """`A 21.00 m, 2.00 m inside`."""
    return f"{chainage_words(site, mark.section, mark.chainage_m, units)}, {inside_words(mark.inside_m, units)}"


def mount_rows(site: Site, mount: Mount) -> tuple[Row, ...]:
    """Part 1 of the sheet, in the order in which an installer works."""
    units = site.units
    name = site.perimeter[mount.stands.section].name
    line = "" if abs(mount.stands.inside_m) < ON_LINE_M else " the fence line"
    high = f"{length_text(mount.height_m, units)} from the ground to the middle of the lens"
    if mount.height_tolerance_m > 0.0:
        high += f", ±{length_text(mount.height_tolerance_m, units)}"
    optics = f"{mount.focal_length_mm:g} mm, f/{mount.f_number:.1f}"
    optics += ", equidistant" if mount.projection == "equidistant" else ""
    field = f"{mount.horizontal_field_deg:.1f}° across, {mount.vertical_field_deg:.1f}° up and down"
    return (
        Row("stands", f"{place_words(site, mount.stands, units)}{line} ({name})"),
        Row("in the site file", f"x {mount.x_m:.2f} m, y {mount.y_m:.2f} m".replace("-", "−")),
        Row("height", high, True),
        Row("lens", f"{optics}; field {field}"),
        Row("bearing", bearing_words(mount), True),
        Row("depression", depression_words(mount.depression_deg), True),
        Row("roll", roll_words(mount.roll_deg), round(mount.roll_deg, 1) != 0.0),
        Row("axis meets", axis_words(site, mount)),
        Row("feet in view", feet_words(mount, units)),
        Row("horizon", horizon_words(mount)),
    )


def bearing_words(mount: Mount) -> str:
    """`88.9° from grid north; 1.1° inwards of the fence line`; with the place on the map also from true north."""
    text = f"{turn_text(mount.bearing_deg)} from grid north"
    if mount.true_deg is not None:
        same = turn_text(mount.true_deg) == turn_text(mount.bearing_deg)
        text = (
            f"{turn_text(mount.bearing_deg)} from grid and true north"
            if same
            else f"{text} ({turn_text(mount.true_deg)} from true)"
        )
    if abs(mount.inwards_deg) < ALONG_DEG:
        return f"{text}; along the fence line"
    return f"{text}; {abs(mount.inwards_deg):.1f}° {'inwards' if mount.inwards_deg > 0 else 'outwards'} of the fence line"


def roll_words(roll_deg: float) -> str:
    """`0°, ±1°: posts in the middle of the picture stand upright`; of a rolled camera which of its sides is lower."""
    size = f"{abs(roll_deg):.1f}"
    if float(size) == 0.0:
        return "0°, ±1°: posts in the middle of the picture stand upright"
    lower, lean = ("right", "left") if roll_deg > 0.0 else ("left", "right")
    return f"{size}°, ±1°: the camera's {lower} side is the lower, seen from behind it; posts lean to the {lean} in the picture"


def turn_text(bearing_deg: float) -> str:
    """`88.9°`, from 0.0 to 359.9."""
    return f"{round(bearing_deg, 1) % 360.0:.1f}°"


def depression_words(depression_deg: float) -> str:
    """`11.2° below level (down is positive)`, `2.0° above level (−2.0°)`."""
    if depression_deg < 0.0:
        return f"{-depression_deg:.1f}° above level (−{-depression_deg:.1f}°; down is positive)"
    return f"{depression_deg:.1f}° below level (down is positive)"


def axis_words(site: Site, mount: Mount) -> str:
    """Where the middle of the picture meets the ground."""
    if mount.axis_m is None or mount.axis_from_m is None:
        return "no ground: it runs level or rises"
    far = f"{length_text(mount.axis_from_m, site.units, 1)} from the mast"
    if mount.axis is None:
        x, y = mount.axis_m
        return f"the ground {far}, at x {x:,.1f} m, y {y:,.1f} m".replace("-", "−")
    return f"the ground at {place_words(site, mount.axis, site.units)}, {far}"


def feet_words(mount: Mount, units: str) -> str:
    """From where on a person's feet are in the picture, on the axis."""
    if mount.feet_from_m is None:
        return "nowhere: it looks over the horizon"
    if mount.feet_from_m == 0.0:
        return "from the foot of the mast on"
    return f"from {length_text(mount.feet_from_m, units, 1)} in front of the mast on"


def horizon_words(mount: Mount) -> str:
    """Where the horizon must be in the middle column."""
    if mount.horizon_row is None:
        return "none: it looks straight up or down"
    if mount.horizon_shows:
        return f"row {mount.horizon_row:.1f} in the middle of the picture"
    if mount.horizon_row < 0.0:
        return f"above the picture, by {-mount.horizon_row:,.0f} px ({mount.horizon_above_deg:.1f}°): no sky may show"
    return "below the picture: only sky shows"


def fixed_point_words(site: Site, point: FixedPoint) -> tuple[str, str]:
    """Where a tape starts, the name that may be long and the rest: `workshop` and `, SE corner`, `lorry gate` and `, post at
    B 9.00 m`; `corner A/B`, `bend 2 of C`, `end of A`, `foot of mast T1` have no rest."""
    letters = section_letters(site)
    if point.kind == "mast":
        return f"foot of mast {point.name}", ""
    if point.kind == "building":
        return point.name, f", {point.which} corner"
    if point.kind == "post":
        return point.name, f", post at {chainage_words(site, point.sections[0], point.chainage_m)}"
    if point.kind == "corner":
        return f"corner {'/'.join(letters[k] for k in point.sections)}", ""
    if point.kind == "bend":
        number = f" {point.which}" if point.which else ""
        return f"bend{number} of {letters[point.sections[0]]}", ""
    section = site.perimeter[point.sections[0]]
    start = abs(section.points_m[0][0] - point.x_m) + abs(section.points_m[0][1] - point.y_m) < 1e-9
    return f"{'start' if start else 'end'} of {letters[point.sections[0]]}", ""


def mark_rows(site: Site, camera: CameraAim) -> tuple[MarkRow, ...]:
    """Part 3 of the sheet."""
    mount, units = camera.mount, site.units
    rows = []
    for mark, tapes in zip(camera.choice.marks, camera.tapes):
        below = [f"{mark.from_mast_m:.2f} m from the foot of the mast"]
        if units == "us":
            at, inside, far = (f"{feet(value):,.2f} ft" for value in (mark.chainage_m, mark.inside_m, mark.from_mast_m))
            below.append(f"{at}, {inside} inside; {far}")
        words = tuple((*fixed_point_words(site, tape.start), length_text(tape.length_m, units)) for tape in tapes)
        share = f"{100.0 * mark.column / mount.columns:.1f}, {100.0 * mark.row / mount.rows:.1f}"
        place = mark_place(site, mark)
        rows.append(MarkRow(mark.number, place, tuple(below), words, f"{mark.column:.1f}", f"{mark.row:.1f}", share))
    return tuple(rows)


def cost_table(site: Site, cost: Cost | None) -> CostTable:
    """What an error of aim costs; without a simulation only the sentence that says so."""
    if cost is None:
        return CostTable((), (), "Not simulated: fencecast aim --cost does.")
    letters = section_letters(site)
    rows = []
    for way in WAYS:
        cells = []
        for error in ERRORS_DEG:
            fall = next(each for each in cost.falls if (each.way, each.error_deg) == (way, error))
            if fall.section is None:
                cells.append(("none", False))
                continue
            at = f"{letters[fall.section]} {whole(0.5 * (fall.start_m + fall.end_m))} m"
            cells.append((f"−{-fall.pd_change:.2f} at {at}", fall.pd_change <= -LARGE_FALL))
        rows.append((way, tuple(cells)))
    headings = ("camera aims", *(f"{error:g} degree{'' if error == 1 else 's'}" for error in ERRORS_DEG))
    note = (
        f"The largest fall of Pd in any segment, {cost.weather} (the worst class), where it is more than chance; the rest of the "
        "site as designed."
    )
    return CostTable(headings, tuple(rows), note)


def reader_words(aim: Aim) -> str:
    """The bar over the sheet."""
    given = f" · for {aim.reader}" if aim.reader else ""
    return f"INSTALLER'S COPY · return it at handover{given}"
