"""What was accepted stays closed until it becomes worse or its time is over.

Tests: tests/review/test_accept.py.
"""

from __future__ import annotations

import datetime
from dataclasses import replace

from fencecast.review.finding import NOTE, Finding
from fencecast.site.review import Accept

_WORSE_SHARE, _WORSE_BY = 0.10, 0.5


def is_worse(finding: Finding, measured: float) -> bool:
    """Whether a value is worse than the one that was accepted, by 10 % or by 0.5 of its unit, the larger.

    Shares and probabilities (no unit) have no room for 0.5: there it is 10 % or 0.01.
    """
    least = _WORSE_BY if finding.unit else 0.01
    return finding.worse * (finding.value - measured) > max(_WORSE_SHARE * abs(measured), least) + 1e-9


def accepted(
    findings: list[Finding], table: tuple[Accept, ...], today: datetime.date
) -> tuple[list[Finding], list[tuple[Accept, str]]]:
    """The findings with their acceptances, and the objects of acceptances that met nothing."""
    met: set[tuple[int, str]] = set()
    marked = []
    for finding in findings:
        for number, accept in enumerate(table):
            hits = [name for name in accept.object if name == finding.object or (name == "*" and finding.severity == NOTE)]
            if accept.check == finding.id and hits:
                met |= {(number, name) for name in hits}
                late = accept.until is not None and today > accept.until
                worse = accept.measured is not None and is_worse(finding, accept.measured)
                finding = replace(finding, accepted=accept, again=late or worse)
                break
        marked.append(finding)
    stale = [(accept, name) for k, accept in enumerate(table) for name in accept.object if (k, name) not in met]
    return marked, stale
