"""What an aim sheet draws: its words, its live picture and its plan; nothing on the page comes from elsewhere."""

from __future__ import annotations

from dataclasses import dataclass

from fencecast import __version__
from fencecast.cautions import CAUTION
from fencecast.findings.aimhow import how_lines, keep_clear_words, no_marks_words, told_words
from fencecast.findings.aimwords import CostTable, MarkRow, Row, cost_table, mark_rows, mount_rows, reader_words
from fencecast.prove.aim import Aim
from fencecast.show.aim.framedata import FrameData, frame_data
from fencecast.show.aim.plandata import PlanData, plan_data

AS_BUILT = ("height, m", "roll, degrees", "lens, serial no.", "keep-clear ground is empty", "date and time", "name, initials")
NORTH_WORDS = "bearings from grid north, the y axis of the site file, not from a compass"
WORK_WORDS = "Work at height and electrical work by competent persons only."


@dataclass(frozen=True, eq=False)
class AimData:
    """One sheet. `told`: what the marks tell; `no_marks`: why there are none, "" otherwise."""

    mark: str
    bar: str
    title: str
    site_title: str
    issue: str
    mount: tuple[Row, ...]
    plan: PlanData
    frame: FrameData
    frame_words: str
    how: tuple[str, ...]
    cost: CostTable
    marks_words: str
    marks: tuple[MarkRow, ...]
    told: str
    no_marks: str
    keep_clear: tuple[str, ...]
    provenance: tuple[str, str]
    caution: str


def aim_data(aim: Aim, mark: str = "") -> AimData:
    """The sheet of one camera as data; mark: of the camera, the first when it is left out."""
    camera = aim.of(mark) if mark else aim.cameras[0]
    site, mount = aim.site, camera.mount
    picture = "rings: ground distance" + (" · blue dashes: rule line" if (frame := frame_data(site, camera)).rules else "")
    if camera.choice.marks:
        across, down = mount.tolerance_px
        square = f"square: ±{across} px" if across == down else f"box: ±{across} px across, ±{down} px up and down"
        picture = f"{square} · thin box: person of 1.8 m · {picture}"
    return AimData(
        mount.mark,
        reader_words(aim),
        f"Aim sheet {mount.mark}",
        site.title,
        f"issue {aim.issue}, as designed",
        mount_rows(site, mount),
        plan_data(site, camera),
        frame,
        picture,
        how_lines(camera),
        cost_table(site, camera.cost),
        f"columns from the left, rows from the top, of {mount.columns} × {mount.rows}, 0 at the corner; "
        "per cent for a picture of any size",
        mark_rows(site, camera),
        told_words(camera),
        "" if camera.choice.marks else no_marks_words(camera),
        keep_clear_words(mount),
        (site.title, f"fencecast {__version__} · site file {site.sha256[:8]} · {NORTH_WORDS}"),
        f"{CAUTION} {WORK_WORDS}",
    )
