"""Client edition, what is assumed and for the owner to confirm: requirement, length, ground, hours; and the lines to sign."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from fencecast.estimate.diagnosis import counted_classes
from fencecast.estimate.results import Results
from fencecast.findings.words import confidence_text, metres_text, plural, requirement_text, whole
from fencecast.meteorology.year import LEAST_YEARS
from fencecast.report.sections.registerrows import nuisance_rows
from fencecast.report.sections.section import Body, Source
from fencecast.report.shared import ROLES, SIGNING


@dataclass(frozen=True)
class Assumed:
    """One row: about what, what is assumed, its value, where it is from, and who should confirm it."""

    about: str
    assumed: str
    value: str
    source: str
    confirmed_by: str


@dataclass(frozen=True)
class ClientRegister:
    """Rows, the note under them, what signing means, and who signs."""

    rows: tuple[Assumed, ...]
    note: str
    signing: str
    signed_by: tuple[str, ...]


def register_of(source: Source) -> Body:
    """What a reader without places can confirm."""
    results = source.results
    site = results.site
    need = f"{requirement_text(results.requirement)} at {confidence_text(results.confidence)} confidence"
    length = metres_text(float(np.sum(results.lengths_m)), results.units)
    rows = (
        Assumed("Requirement", "Pd that every metre needs in every class", need, _from(site, "requirement"), "owner"),
        Assumed("Site", "Length of fence", length, "site file", "surveyor"),
        Assumed("Site", "Ground", f"{site.site.ground}, flat", f"{_from(site.site, 'ground')}; flat by the model", "surveyor"),
        _hours(results),
        *(Assumed("Nuisance alarms", what, value, "site file", "owner") for what, value in nuisance_rows(site)),
    )
    note = "The full edition has every assumption. Places, cameras and schedules are left out here on purpose."
    return Body("Assumptions to be confirmed", "", ClientRegister(rows, note, SIGNING, ROLES))


def _from(table, key: str) -> str:
    """Whether the site file says it, or the schema's default stands."""
    return "site file" if key in table.model_fields_set else "default"


def _hours(results: Results) -> Assumed:
    """Hours a year and how many classes; of an hourly record without its name, which may name the place."""
    hours = sum(results.summaries[row].hours for row in counted_classes(results))
    classes = plural(len(counted_classes(results)), "class", "classes")
    hourly = "pd_state" in results
    if hourly and results.years < LEAST_YEARS:
        value = f"{whole(hours * results.years)} of the record in {classes}"
    else:
        value = f"{whole(hours)} a year in {classes}"
    confirmed = "owner: the hours in which the system is armed"
    return Assumed("Weather", "Hours that count", value, "hourly record" if hourly else "site file", confirmed)
