"""What is drawn into a user's own matplotlib axes: in data coordinates, with the colours of all pictures and the caution.

Sizes of labels and ticks stay as the axes have them; only the caution has its own. It stands below the axes' label: beside other
axes it needs a figure with `layout="constrained"`, which keeps room for it.
"""

from __future__ import annotations

from matplotlib.axes import Axes
from matplotlib.patches import Patch

from fencecast.cautions import CAUTION
from fencecast.errors import UsageError
from fencecast.findings.condition import whole_words
from fencecast.findings.words import requirement_text
from fencecast.show.paper import style
from fencecast.show.paper.surface import Attrs
from fencecast.show.paper.text import wrap

LABEL_PAD_POINTS = 1.0  # so near that the caution has room under plain axes of a plain figure
LEAST_CAUTION_MM = 40.0  # narrower axes have a caution that is wider than they are


def check_axes(ax: object) -> Axes:
    """The axes; UsageError for anything else, such as a list of them."""
    if not isinstance(ax, Axes):
        raise UsageError(f"ax = {type(ax).__name__} is no matplotlib axes; type for instance figure, ax = plt.subplots()")
    return ax


def requirement_line(ax: Axes, need: float) -> None:
    """The dashed line of the requirement [fraction], with its entry for the legend."""
    ax.axhline(need, color=style.INK, linewidth=1.1, dashes=(5, 2), zorder=7, label=f"requirement {requirement_text(need)}")


def pd_axis(ax: Axes) -> None:
    """Pd from 0 to 1, never less: a part of it would show small differences as large ones."""
    ax.set_ylim(0.0, 1.0)
    ax.set_ylabel("Pd")
    ax.set_yticks([0.0, 0.25, 0.5, 0.75, 1.0])
    ax.grid(axis="y", color=style.GUIDE, linewidth=0.5)
    ax.set_axisbelow(True)


def no_data_patch(label: str = "no data") -> Patch:
    """The legend's entry of stretches that were not simulated."""
    return Patch(facecolor=style.PAPER, edgecolor=style.SECOND, hatch="...", linewidth=0.4, label=label)


def caution_below(ax: Axes, attrs: Attrs) -> None:
    """The caution under the axes' label, as wide as the axes; the condition of the results too, where they have one."""
    ax.xaxis.labelpad = LABEL_PAD_POINTS
    width = max(ax.get_window_extent().width / ax.figure.dpi * style.MM_PER_INCH, LEAST_CAUTION_MM)
    lines = wrap(CAUTION, width, style.SMALL)
    if attrs.get("stress"):
        lines = [*wrap(whole_words(attrs), width, style.SMALL), *lines]
    ax.annotate(
        "\n".join(lines), xy=(0.5, 0.0), xycoords=ax.xaxis.label, xytext=(0.0, -1.0), textcoords="offset points",
        ha="center", va="top", fontsize=style.SMALL, color=style.INK, annotation_clip=False, parse_math=False,
    )  # fmt: skip
