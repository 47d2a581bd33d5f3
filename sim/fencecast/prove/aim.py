"""Everything that an aim sheet says of each camera, as numbers: mount, marks, tapes, and the cost of an error of aim.

    import fencecast as fc
    sheets = fc.aim("yard.toml")                    # or cameras=["T1"], cost=True
    fc.plot_aim(sheets, "T1")                       # one A4 page

Tests: tests/prove/test_aim.py.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from os import PathLike
from typing import TYPE_CHECKING

from fencecast.errors import UnknownNameError, UsageError
from fencecast.estimate.options import Progress
from fencecast.prove.marks import COUNT, FEWEST, MOST, Choice, choose_marks
from fencecast.prove.mount import Mount, mount_of
from fencecast.prove.tapes import Tape, fixed_points, tapes_of
from fencecast.site import Site, as_site
from fencecast.site.mounting import need_camera
from fencecast.site.schema import Camera

if TYPE_CHECKING:
    from fencecast.prove.aimcost import Cost

LONGEST_WORD = 60  # of a reader's name or an issue: what fits into the head of a sheet


@dataclass(frozen=True)
class CameraAim:
    """One camera: how it is mounted, its marks with why these, two tapes for each mark, what an error of aim costs.

    cost: None when it was not asked for.
    """

    mount: Mount
    choice: Choice
    tapes: tuple[tuple[Tape, ...], ...]
    cost: Cost | None = None


@dataclass(frozen=True, eq=False)
class Aim:
    """The sheets of a site, in the order of its cameras; reader: who they are for; issue: their number."""

    site: Site
    cameras: tuple[CameraAim, ...]
    reader: str
    issue: str

    def of(self, mark: str) -> CameraAim:
        """One camera's; UnknownNameError for a mark that has no sheet."""
        for each in self.cameras:
            if each.mount.mark == mark:
                return each
        raise UnknownNameError("camera", mark, [each.mount.mark for each in self.cameras], "the sheets")


def aim(
    site: Site | str | PathLike[str],
    cameras: Sequence[str] = (),
    marks: int = COUNT,
    cost: bool = False,
    reader: str = "",
    issue: str = "1",
    progress: Progress | None = None,
) -> Aim:
    """What the installer of each camera needs: see `CameraAim`.

    cameras: marks, all when none is named; marks: how many points on the ground, 3 to 8; cost: simulate what one and three
    degrees four ways cost in the site's worst weather class, of which progress hears; without it nothing is simulated. reader
    and issue stand on the sheets. UnknownNameError for a camera that the site does not have, UsageError for a number or a word
    that is not allowed and for a site without cameras.
    """
    site = as_site(site)
    check_aim(site, cameras, marks, reader, issue)
    chosen = [camera for camera in site.camera if not cameras or camera.mark in cameras]
    costs = {}
    if cost:
        from fencecast.prove.aimcost import costs_of

        costs = costs_of(site, [camera.mark for camera in chosen], progress=progress)
    return Aim(site, tuple(_camera(site, each, marks, costs.get(each.mark)) for each in chosen), reader.strip(), issue.strip())


def check_aim(site: Site, cameras: Sequence[str], marks: int, reader: str, issue: str) -> None:
    """Refuse what `aim` cannot do, before anything is made; as there."""
    need_camera(site)
    known = [camera.mark for camera in site.camera]
    for mark in cameras:
        if mark not in known:
            raise UnknownNameError("camera", mark, known)
    if isinstance(marks, bool) or not isinstance(marks, int) or not FEWEST <= marks <= MOST:
        raise UsageError(f"marks {marks} is not allowed: a whole number from {FEWEST} to {MOST}; type for instance {COUNT}")
    # As a sentence: the argument is `reader`, the option --for.
    check_word("the reader's name", reader, 0)
    check_word("the issue", issue, 1)


def check_word(what: str, word: str, least: int) -> None:
    """UsageError for a word that does not fit into the head of a sheet or a card."""
    if len(word) > LONGEST_WORD or not word.isprintable() or len(word.strip()) < least:
        raise UsageError(f"{what} {word!r} is not allowed: text of {least} to {LONGEST_WORD} printable characters")


def _camera(site: Site, camera: Camera, count: int, cost: Cost | None) -> CameraAim:
    choice = choose_marks(site, camera, count)
    points = fixed_points(site, camera)
    return CameraAim(mount_of(site, camera), choice, tuple(tapes_of(site, points, mark) for mark in choice.marks), cost)
