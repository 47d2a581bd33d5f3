"""The words of the camera's view: its finding, the lines under a crop and the table beside the frame."""

from __future__ import annotations

from collections.abc import Sequence

from fencecast.findings.lookscene import hidden_text, outside_text, through_text
from fencecast.findings.looktext import (
    celsius_text,
    distance_text,
    gait_text,
    kelvin_text,
    lens_text,
    signed_kelvin_text,
    with_article,
)
from fencecast.findings.words import first_upper, listed, metres_text, pd_text
from fencecast.onelook import ViewFrame
from fencecast.site import Site

CLEAR_VISIBILITY_M = 10_000.0  # from here on visibility is not worth a line


def view_titles(asked: Sequence[ViewFrame], beside: Sequence[ViewFrame]) -> list[str]:
    """The title, about the farthest distance in view: how many pixels pass, and how many in the class beside it; the longest form
    first, to choose by room."""
    name = first_upper(asked[0].weather)
    seen = [frame for frame in asked if frame.pixels > 0]
    if not seen:
        return [f"{name}: {absence_text(asked)}", f"{name}: the {asked[0].who} is not in view"]
    far = seen[-1]
    passing = {0: "no pixel passes", 1: "1 pixel passes"}.get(far.pixels_over, f"{far.pixels_over:,} pixels pass")
    title = f"{name}: {passing} at {distance_text(far.distance_m)}"
    other = next((frame for frame in beside if frame.distance_m == far.distance_m), None)
    if other is not None:
        title += f", {f'{other.pixels_over:,}' if other.pixels_over else 'none'} in {other.weather}"
    # The transmission also stands in the table: it is not worth a second line.
    return [f"{title}; air transmission {pd_text(far.tau)}", title] if far.tau < 0.9 else [title]


def reason_text(frame: ViewFrame) -> str:
    """Why nothing of the person is drawn: 'hidden by workshop', '4.1 degrees below the picture', else 'not in view'."""
    outside = outside_text([each._asdict() for each in frame.outside])
    hidden = hidden_text([each._asdict() for each in frame.hidden_by], frame.hidden_share)
    return outside or hidden or "not in view"


def absence_text(frames: Sequence[ViewFrame]) -> str:
    """Reasons with their distances: 'the person is hidden by workshop at 12 m and 14 m, 3.1 degrees below the picture at 3 m'."""
    reasons: dict[str, list[str]] = {}
    for frame in frames:
        reasons.setdefault(reason_text(frame), []).append(distance_text(frame.distance_m))
    return f"the {frames[0].who} is " + ", ".join(f"{reason} at {listed(out)}" for reason, out in reasons.items())


def left_out_words(frames: Sequence[ViewFrame], left_out: Sequence[int]) -> dict[str, list[str]]:
    """Why people of some frames (by number) are not drawn in the whole frame: the reason and their distances."""
    reasons: dict[str, list[str]] = {}
    for i in left_out:
        reason = "No room beside the others" if frames[i].pixels > 0 else first_upper(reason_text(frames[i]))
        reasons.setdefault(reason, []).append(distance_text(frames[i].distance_m))
    return reasons


def sight(frame: ViewFrame, units: str) -> str:
    """The class and, when it is worth a word, its visibility: 'advection fog, visibility 70 m'."""
    if frame.visibility_m >= CLEAR_VISIBILITY_M:
        return frame.weather
    return f"{frame.weather}, visibility {metres_text(frame.visibility_m, units)}"


def view_subtitle(asked: Sequence[ViewFrame], site: Site) -> str:
    """What is drawn: camera and lens."""
    first = asked[0]
    lens = lens_text(site, first.lens)
    of_whom = "" if first.who == "person" else f" of {with_article(first.who)}"
    start = f"What camera {first.camera} would see{of_whom} with {with_article(lens)}"
    return f"{start}: apparent difference from the ground, noise on, one frame"


def under_crop(frame: ViewFrame, crop_columns: int, crop_rows: int, site: Site) -> list[str]:
    """Size, peak and pixels over the threshold; then what the frame or a crop of so many pixels cuts off."""
    u0, u1, v0, v1 = frame.rectangle_px
    rows, columns = frame.contrast_k.shape
    if frame.pixels == 0:
        size = [] if frame.outside else [f"{u1 - u0:.0f} × {v1 - v0:.0f} pixels"]
        return [*size, reason_text(frame)]
    lines = [
        f"{u1 - u0:.0f} × {v1 - v0:.0f} pixels",
        f"peak {signed_kelvin_text(frame.peak_k)}",
        f"{frame.pixels_over:,} of {frame.pixels:,} pass",
    ]
    if site.units == "us":
        lines.insert(2, f"  ({signed_kelvin_text(frame.peak_k, 'us').split('(')[1]}")
    if frame.who != "person" and frame.accepted is not None:
        lines.append(f"taken for a person {pd_text(frame.accepted)}")
    cut = [
        word for word, out in (("top", v0 < -0.5), ("bottom", v1 > rows + 0.5), ("side", u0 < -0.5 or u1 > columns + 0.5)) if out
    ]
    if cut:
        lines.append(f"{' and '.join(cut)} out of frame")
    things = [each._asdict() for each in frame.hidden_by]
    lines += [text for text in (hidden_text(things, frame.hidden_share), through_text(things)) if text]
    if min(v1, rows) - max(v0, 0) > crop_rows or min(u1, columns) - max(u0, 0) > crop_columns:
        lines.append("larger than the crop")
    return lines


def spread_text(values: Sequence[float], units: str) -> str:
    """One value, or '0.47 to 0.59 K' when the distances differ in the digits that are printed; then the same in °F."""

    def span(scale: float) -> str:
        low, high = (kelvin_text(scale * value, figures=2).removesuffix(" K") for value in (min(values), max(values)))
        return low if low == high else f"{low} to {high}"

    return f"{span(1.0)} K ({span(1.8)} °F)" if units == "us" else f"{span(1.0)} K"


def beside_frame(asked: Sequence[ViewFrame], site: Site) -> list[tuple[str, str]]:
    """The table: name and value."""
    far = asked[-1]
    camera = next((c for c in site.camera if c.mark == far.camera), None)
    lens = site.lenses.get(camera.lens) if camera else None
    sensor = site.sensors.get(camera.sensor) if camera else None
    sigma = site.decision.threshold_sigma.middle()

    rows = [
        ("temporal noise", spread_text([f.noise_k for f in asked], site.units)),
        ("noise, clutter, 1 sigma", spread_text([f.threshold_k / sigma for f in asked], site.units)),
        (f"threshold, {sigma:g} sigma", spread_text([f.threshold_k for f in asked], site.units)),
    ]
    if lens is not None and sensor is not None:
        ifov_mrad = sensor.pitch_um / lens.focal_length_mm
        rows += [
            (
                "pixel, on axis",
                f"{ifov_mrad:.1f} mrad, {0.1 * ifov_mrad * far.distance_m:.0f} cm at {distance_text(far.distance_m)}",
            ),
            ("lens", f"{lens.focal_length_mm:g} mm, f/{lens.f_number:.1f}"),
            ("sensor", f"{sensor.columns} × {sensor.rows}, {sensor.netd_mk:g} mK, {sensor.pitch_um:g} µm"),
        ]
    return rows + [
        ("air", celsius_text(far.air_temperature_c, site.units)),
        ("air transmission", f"{pd_text(far.tau)} at {distance_text(far.distance_m)}"),
        ("ground", celsius_text(far.ground_temperature_c, site.units)),
        (far.who, _warmth_text(far, site.units)),
    ]


def _warmth_text(frame: ViewFrame, units: str) -> str:
    """'torso 10.1 °C, walking across', or 'trunk 9.3 °C, legs 15.3 °C, moving across'."""
    said = [f"{frame.part} {celsius_text(frame.torso_temperature_c, units)}"]
    if frame.legs_temperature_c is not None:
        warm = "wheels and bonnet" if frame.part == "side" else "legs"
        said.append(f"{warm} {celsius_text(frame.legs_temperature_c, units)}")
    return ", ".join([*said, gait_text(frame.gait) if frame.gait else "moving across"])
