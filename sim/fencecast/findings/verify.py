"""What `fencecast verify` says: every check with its worst difference, what is allowed and why, and its outside source."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import asdict

from fencecast import __version__
from fencecast.evidence.check import Check
from fencecast.findings.blocks import BAD, FINDING, GOOD, LEFT, NOTE, RIGHT, UNBROKEN, Block, Cell, Line, Table
from fencecast.findings.limits import limit_lines, limits_object


def verify_object(checks: Sequence[tuple[str, Check]], seconds: float) -> dict:
    """The object of --json; checks: (subject, check) each."""
    return {
        "version": __version__,
        "passed": all(check.passed for _, check in checks),
        "failed": [check.name for _, check in checks if not check.passed],
        "seconds": round(seconds, 1),
        "checks": [{"subject": subject, **asdict(check), "passed": check.passed} for subject, check in checks],
        **limits_object(),
    }


def verify_blocks(checks: Sequence[tuple[str, Check]], seconds: float) -> list[Block]:
    """The table and what it says; checks: (subject, check) each."""
    columns = [
        ("quantity", LEFT),
        ("worst difference", RIGHT),
        ("allowed, and why", LEFT),
        ("compared with", LEFT),
        ("", UNBROKEN),
    ]
    rows: list[list[str | Cell]] = []
    before = None
    for subject, check in checks:
        if subject != before:
            rows.append([Cell(subject, FINDING), "", "", "", ""])
            before = subject
        verdict = Cell("pass", GOOD) if check.passed else Cell("FAIL", BAD)
        worst = f"{_figure(check.worst)}\n{check.unit}"
        allowed = f"{_figure(check.tolerance)}: {check.cause}"
        rows.append([Cell(check.quantity, below=check.note), worst, allowed, check.source, verdict])
    failed = [check.name for _, check in checks if not check.passed]
    comparisons = sum(check.cases for _, check in checks)
    end = f"{len(checks) - len(failed)} of {len(checks)} checks pass, {comparisons:,} comparisons in {seconds:.0f} s."
    if failed:
        end += f" These fail: {', '.join(failed)}."
    return [
        Table.of(columns, rows),
        Line(end, BAD if failed else FINDING, apart=True),
        Line(
            "Formulas and code are compared with what others wrote. How your analytics, your fog and your people behave is not: "
            "see `fencecast verify --card`.",
            NOTE,
        ),
        *limit_lines(),
    ]


def _figure(value: float) -> str:
    return "0" if value == 0.0 else f"{value:.2g}"
