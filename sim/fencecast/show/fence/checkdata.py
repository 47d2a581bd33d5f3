"""What the picture of a design review draws: the fence, marked stretches, and a numbered list of findings."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from fencecast import __version__
from fencecast.estimate.placecodes import section_letters
from fencecast.estimate.places import JOINT_TOLERANCE_M, Section
from fencecast.findings.check import check_title, coverage_words, picture_subtitle
from fencecast.findings.checksentences import fix_text, measured_text
from fencecast.review.finding import Finding, Span
from fencecast.review.review import Review
from fencecast.show.fence.data import Fence
from fencecast.site import Site
from fencecast.site.geometry import section_length_m

SEVERITY_MARKS = ("stop", "warn")  # that are numbered and listed; notes are only counted and drawn thin


@dataclass(frozen=True)
class Marked:
    """A stretch of a section in the band: how severe, and whether it was accepted."""

    severity: str
    section: int
    start_m: float
    end_m: float
    accepted: bool


@dataclass(frozen=True)
class ListedFinding:
    """One numbered finding of the list, with the stretches or the camera that its number stands beside."""

    number: int
    severity: str
    id: str
    measured: str
    fix: str
    spans: tuple[Span, ...]
    camera: str


@dataclass(frozen=True, eq=False)
class CheckData:
    """What `plot_check` draws; notes: how many open ones, which are not listed."""

    title: str
    subtitle: str
    fence: Fence
    marks: tuple[Marked, ...]
    findings: tuple[ListedFinding, ...]
    coverage: str
    notes: int


def check_data(found: Review) -> CheckData:
    """The picture of a review as data; accepted stops stay marked, and are not listed."""
    numbered = [f for f in found.open if f.severity in SEVERITY_MARKS]
    marks = tuple(Marked(f.severity, s.section, s.start_m, s.end_m, not f.open) for f in found.findings for s in f.spans)
    return CheckData(
        check_title(found),
        picture_subtitle(found),
        drawn_fence(found.site),
        marks,
        tuple(_listed(found.site, k + 1, f) for k, f in enumerate(numbered)),
        coverage_words(found),
        found.count("note"),
    )


def _listed(site: Site, number: int, f: Finding) -> ListedFinding:
    camera = f.name.split(",")[0].split(" in ")[0] if f.kind == "camera" and not f.spans else ""
    measured = f"{f.object}: {measured_text(site, f)}"
    return ListedFinding(number, f.severity, f.id, measured, fix_text(site, f), f.spans, camera)


def drawn_fence(site: Site) -> Fence:
    """The fence of a site that was not run: one piece for each section."""
    letters, lengths = section_letters(site), [section_length_m(section) for section in site.perimeter]
    sections = []
    for k, section in enumerate(site.perimeter):
        following = k if section.closed else None
        if not section.closed:
            last = np.asarray(section.points_m[-1], dtype=float)
            starts = [np.hypot(*(np.asarray(other.points_m[0], dtype=float) - last)) for other in site.perimeter]
            near = [j for j, distance in enumerate(starts) if distance <= JOINT_TOLERANCE_M]
            following = near[0] if near else None
        sections.append(Section(k, letters[k], section.name, k, k + 1, lengths[k], following))
    ends = np.array(lengths)
    attrs = {
        "title": site.title,
        "version": __version__,
        "site_sha256": site.sha256,
        "what": "design review, no crossings",
    }
    need = site.requirement
    return Fence(site, tuple(sections), np.zeros(len(ends)), ends, 0.5 * ends, need.pd, need.confidence, site.units, attrs)
