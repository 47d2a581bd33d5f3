"""Keys: the ramp with its requirement, the verdicts, the causes; whole, or swatch by swatch for a list on the page."""

from __future__ import annotations

from fencecast.findings.words import requirement_text
from fencecast.show.fence.cause import cause_key, cause_swatch
from fencecast.show.paper import style
from fencecast.show.paper.key import SWATCH_MM, ramp_key, verdict_key, verdict_swatch
from fencecast.show.paper.svgpage import SvgPage
from fencecast.show.svg.figure import FigureSvg

AROUND_MM = 1.0  # of a swatch, for its rails


def ramp_key_svg(requirement: float, width_mm: float = 84.0, label: str | None = None, css_class: str = "fig-key") -> FigureSvg:
    """The steps of Pd with their edges, the requirement bold."""
    ramp = style.fence7(requirement)
    page = SvgPage(width_mm, 2.0, prefix=None)
    bottom = ramp_key(page, page.left, 0.0, page.right - page.left, ramp)
    edges = ", ".join(f"{edge:g}" for edge in ramp.edges)
    label = label or f"Colour key: steps of Pd with edges {edges}; {requirement_text(requirement)} is required"
    return _finished(page, bottom + 0.8, label, css_class)


def verdict_key_svg(
    requirement: float, width_mm: float = 180.0, columns: int = 2, label: str = "Key of verdicts", css_class: str = "fig-key"
) -> FigureSvg:
    """The four verdicts with their meanings."""
    page = SvgPage(width_mm, AROUND_MM, prefix=None)
    step = (page.right - page.left) / columns
    bottom = verdict_key(page, page.left, AROUND_MM, style.fence7(requirement), columns, step)
    return _finished(page, bottom + AROUND_MM, label, css_class)


def cause_key_svg(label: str = "Key of causes", css_class: str = "fig-key") -> FigureSvg:
    """Every cause with its meaning."""
    page = SvgPage(prefix=None)
    return _finished(page, cause_key(page, AROUND_MM) + AROUND_MM, label, css_class)


def verdict_swatch_svg(verdict: str, requirement: float, label: str = "", css_class: str = "swatch") -> FigureSvg:
    """One swatch: 'weak', 'undecided', 'meets' or 'no data'; without a label it is decoration beside its word."""
    page = SvgPage(SWATCH_MM[0] + 2 * AROUND_MM, AROUND_MM, prefix=None)
    verdict_swatch(page, AROUND_MM, AROUND_MM, verdict, style.fence7(requirement))
    return _finished(page, SWATCH_MM[1] + 2 * AROUND_MM, label, css_class)


def cause_swatch_svg(cause: str, label: str = "", css_class: str = "swatch") -> FigureSvg:
    """One swatch of a cause; KeyError for a word that is no cause."""
    page = SvgPage(SWATCH_MM[0] + 2 * AROUND_MM, AROUND_MM, prefix=None)
    cause_swatch(page, AROUND_MM, AROUND_MM, cause)
    return _finished(page, SWATCH_MM[1] + 2 * AROUND_MM, label, css_class)


def _finished(page: SvgPage, height_mm: float, label: str, css_class: str) -> FigureSvg:
    page.set_height(height_mm)
    return FigureSvg(page.svg(label, css_class=css_class), page.width_mm, height_mm)
