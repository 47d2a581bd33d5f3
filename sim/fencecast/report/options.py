"""What the sender of a report says about it; nothing of it is computed."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from typing import Any

from fencecast.errors import UsageError, did_you_mean
from fencecast.site.review import day_of

EDITIONS = ("full", "client")
STATUSES = ("as designed", "as built", "as tested", "rehearsal")
NOT_GIVEN = "not given"
_LONGEST = 200


@dataclass(frozen=True)
class ReportOptions:
    """`edition`: full or client. `made_for`, `made_by`, `mark`: free texts, '' when not given. `issue`: of the document.
    `status`: one of `STATUSES`. `dated`: ISO date, '' for that of the results. `site_file`: whether the full edition shows it."""

    edition: str = "full"
    made_for: str = ""
    made_by: str = ""
    issue: str = "1"
    status: str = "as designed"
    dated: str = ""
    mark: str = ""
    site_file: bool = True

    def __post_init__(self) -> None:
        """UsageError for an edition, a status or a date that is none, and for texts that are no line."""
        for name, value, known in (("edition", self.edition, EDITIONS), ("status", self.status, STATUSES)):
            if value not in known:
                raise UsageError(f'{name} "{value}": type one of {", ".join(known)}' + did_you_mean(value, known))
        if self.dated:
            day_of(self.dated)
        for name in ("made_for", "made_by", "issue", "mark"):
            value = getattr(self, name)
            if len(value) > _LONGEST or any(ord(sign) < 32 or ord(sign) == 127 or 0xD800 <= ord(sign) < 0xE000 for sign in value):
                raise UsageError(f"{name.replace('made_', '')}: one line of at most {_LONGEST} characters, as UTF-8 text")

    def day(self, attrs: dict[str, Any]) -> str:
        """`29 November 2026`: the date that was given, else that of the results, never that of the clock."""
        day = day_of(self.dated) if self.dated else datetime.fromisoformat(str(attrs["created"]).replace("Z", "+00:00")).date()
        return f"{day.day} {day:%B %Y}"
