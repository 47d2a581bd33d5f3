"""Placing labels so that none lies on another: in levels along a line, and short forms for long marks."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from itertools import permutations, product
from typing import Any

from fencecast.show.paper.text import text_width_mm


@dataclass
class Placed:
    """A label with its anchor (where it belongs), the middle of its text, its level (0 is nearest to the anchor)."""

    text: str
    anchor: float
    middle: float
    level: int


def in_levels(
    labels: Sequence[tuple[str, float]],
    low: float,
    high: float,
    size: float,
    weight: str = "normal",
    gap: float = 1.2,
    levels: int = 4,
) -> list[Placed]:
    """Labels (text, anchor) beside a line, in as few levels as they need, none on another or on another's leader.

    low, high: limits of the text [mm]. Each leader runs straight from its anchor to its text, through the nearer levels.
    A label that finds no level is joined to its neighbour's text with a comma. Returns a list of `Placed`.
    """
    placed: list[Placed] = []
    for text, anchor in sorted(labels, key=lambda item: item[1]):
        while True:
            half = 0.5 * text_width_mm(text, size, weight)
            middle = min(max(anchor, low + half), high - half)
            free = [n for n in range(levels) if _is_free(placed, anchor, middle, half, n, size, weight, gap)]
            if free or not placed:
                placed.append(Placed(text, anchor, middle, free[0] if free else 0))
                break
            last = placed.pop()
            text, anchor = f"{last.text}, {text}", last.anchor
    return placed


def _is_free(
    placed: Sequence[Placed], anchor: float, middle: float, half: float, level: int, size: float, weight: str, gap: float
) -> bool:
    for other in placed:
        other_half = 0.5 * text_width_mm(other.text, size, weight)
        if other.level == level and abs(other.middle - middle) < half + other_half + gap:
            return False
        if other.level < level and abs(other.middle - anchor) < other_half + 0.5 * gap:
            return False  # my leader would cross the other's text
        if other.level > level and abs(other.anchor - middle) < half + 0.5 * gap:
            return False  # the other's leader would cross my text
    return True


def levels_by_rank(
    labels: Sequence[tuple[str, float]], low: float, high: float, size: float, gap: float = 1.2, levels: int = 4
) -> list[Placed | None]:
    """As `in_levels`, but the first labels (text, anchor) choose first and one that finds no level is None, not joined."""
    placed: list[Placed] = []
    found: list[Placed | None] = []
    for text, anchor in labels:
        half = 0.5 * text_width_mm(text, size)
        middle = min(max(anchor, low + half), high - half)
        level = next((n for n in range(levels) if _is_free(placed, anchor, middle, half, n, size, "normal", gap)), None)
        found.append(None if level is None else Placed(text, anchor, middle, level))
        placed += [each for each in found[-1:] if each is not None]
    return found


VALLEY_LABEL_MM = 5.8  # height of a label of two lines


def below_valleys(
    labels: Sequence[tuple[Any, ...]], floor_under: Callable[[float, float], float], low: float, high: float
) -> list[tuple[float, float]]:
    """Place a few two-line labels below the valleys of a curve: (x, floor, width, ...) each, `low` to `high` their limits [mm].

    floor_under(left, right): the lowest y of the curve between two x. Of all orders and sideways shifts the one is taken in which
    the fewest leaders cross a text, and then the highest. Returns [(left, top)] in the order of the labels.
    """
    best = None
    for order in permutations(range(len(labels))):
        for shares in product((0.3, 0.05, 0.6, 0.95), repeat=len(labels)):
            boxes: list[tuple[float, float, float, float]] = []  # left, top, right, x of the leader
            for k in order:
                x, floor, width = labels[k][:3]
                left = min(max(x - shares[k] * width, low), high - width)
                top = max(floor_under(left, left + width), floor) + 1.3
                while any(
                    left < r + 1.5 and left + width > a - 1.5 and abs(top - t) < VALLEY_LABEL_MM + 0.8 for a, t, r, _ in boxes
                ):
                    top += 0.5
                boxes.append((left, top, left + width, x))
            crossings = sum(a < x < r and t < own for a, t, r, _ in boxes for _, own, _, x in boxes)
            cost = (crossings, round(sum(t for _, t, _, _ in boxes), 1))
            if best is None or cost < best[0]:
                best = (cost, {k: boxes[i][:2] for i, k in enumerate(order)})
    return [best[1][k] for k in range(len(labels))]


LONGEST_MARK_MM = 9.0


def short_marks(marks: Iterable[str]) -> tuple[dict[str, str], str]:
    """Short forms of long camera marks, all different, and the key line that explains them ('' when none is needed).

    A mark that is short enough stays. Of a long one its first word when that is unique and short enough, else c and its number,
    with `c1 = gatehouse north` in the key: a bare number would read as a place, a single letter as a section.
    """
    marks = [str(mark) for mark in marks]
    first = [mark.split()[0] for mark in marks]
    short = {mark: mark for mark in marks if text_width_mm(mark) <= LONGEST_MARK_MM}
    taken = {mark.lower() for mark in short}
    for i, (mark, word) in enumerate(zip(marks, first)):
        if mark in short:
            continue
        useful = text_width_mm(word) <= LONGEST_MARK_MM and len(word) > 1 and not word.isdigit()
        if not useful or first.count(word) > 1 or word.lower() in taken:
            word = f"c{i + 1}"
            while word in taken:
                word = f"c{word}"
        short[mark] = word
        taken.add(word.lower())
    key = " · ".join(f"{short[mark]} = {mark}" for mark in marks if short[mark] != mark)
    return short, f"Cameras: {key}" if key else ""


def joined_near(points: Iterable[tuple[Any, float, float]], distance_mm: float = 1.8) -> list[tuple[list[Any], float, float]]:
    """Group marks (of any kind) whose dots are nearer than `distance_mm` to each other: [(marks, x, y of the first)]."""
    groups: list[tuple[list, float, float]] = []
    for mark, x, y in points:
        for group in groups:
            if (group[1] - x) ** 2 + (group[2] - y) ** 2 < distance_mm**2:
                group[0].append(mark)
                break
        else:
            groups.append(([mark], x, y))
    return groups


def tick_step(scale_mm_per_m: float, least_mm: float = 9.0) -> float:
    """Chainage between labelled ticks [m]: the smallest round number whose ticks lie at least `least_mm` apart."""
    for step in (5, 10, 20, 50, 100, 200, 500, 1000, 2000, 5000):
        if step * scale_mm_per_m >= least_mm:
            return float(step)
    return 10000.0
