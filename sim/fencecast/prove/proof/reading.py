"""Files of a walk test and of cameras as built: JSON of a kind, checked key by key before anyone believes a number in it.

Tests: tests/prove/proof/test_proof_files.py.
"""

from __future__ import annotations

import json
from os import PathLike
from pathlib import Path
from typing import Annotated, Any, TypeVar

from pydantic import BaseModel, ConfigDict, Field, ValidationError

from fencecast.errors import InputError, UsageError

SCHEMA = 1
_MOST_BYTES = 64_000_000
_MOST_PROBLEMS = 20
# By kind: the option of `fencecast report` that takes it, what writes it, keys that no other kind has.
KINDS = {
    "walk plan": ("--walk-plan", "fencecast walk plan", ("kind", "site_toml", "trials")),
    "score": ("--score", "fencecast walk score -o", ("claims", "prediction", "log_sha256")),
    "calibration": ("--calibration", "fencecast walk fit -o", ("cycles_50", "encounter_correlation", "log_sha256")),
    "built": ("--built", "fencecast built --json", ("cameras", "marks_sha256")),
}


class Part(BaseModel):
    """A part of a file: frozen; keys that a later version adds are passed over, numbers are finite."""

    model_config = ConfigDict(frozen=True, extra="ignore", allow_inf_nan=False, populate_by_name=True)


Share = Annotated[float, Field(ge=0.0, le=1.0)]
Count = Annotated[int, Field(ge=0, le=10_000_000)]
Words = Annotated[str, Field(max_length=2_000)]
Found = TypeVar("Found", bound=Part)


def read_part(path: str | PathLike[str], kind: str, model: type[Found]) -> Found:
    """The file at a path as its kind. UsageError when it cannot be read, InputError with every problem when it is damaged, or of
    another kind, which is then named."""
    name, data = str(path), _object(path, kind)
    _refuse_other_kind(name, data, kind)
    if data.get("schema", SCHEMA) != SCHEMA:
        raise InputError(
            [f"schema = {data['schema']!r} is not known: allowed is {SCHEMA}; write it anew with {KINDS[kind][1]}"], name
        )
    try:
        return model.model_validate(data)
    except ValidationError as error:
        problems = [
            f"{'.'.join(map(str, each['loc'])) or 'the file'}: {each['msg']}; write it anew with {KINDS[kind][1]}"
            for each in error.errors()[:_MOST_PROBLEMS]
        ]
        raise InputError(problems, name) from None


def _object(path: str | PathLike[str], kind: str) -> dict[str, Any]:
    """The JSON object in a file."""
    option, command, _ = KINDS[kind]
    wanted = f"type {option} and the file that {command} wrote"
    name, file = str(path), Path(path)
    try:
        if file.stat().st_size > _MOST_BYTES:
            raise InputError([f"has more than {_MOST_BYTES // 1_000_000} MB, which no such file has: {wanted}"], name)
        data = json.loads(file.read_text(encoding="utf-8-sig"))
    except OSError as error:
        raise UsageError(f"{name} cannot be read: {error.strerror}; {wanted}") from None
    except (ValueError, RecursionError):  # of JSON and of UTF-8, both
        raise InputError([f"is no JSON file: {wanted}"], name) from None
    if not isinstance(data, dict):
        raise InputError([f"is no JSON object: {wanted}"], name)
    return data


def _refuse_other_kind(name: str, data: dict[str, Any], kind: str) -> None:
    option, command, keys = KINDS[kind]
    if all(key in data for key in keys):
        return
    other = next((each for each, (_, _, own) in KINDS.items() if each != kind and all(key in data for key in own)), None)
    if other:
        raise InputError(
            [f"is a {other}, not a {kind}: type it after {KINDS[other][0]}, and after {option} what {command} wrote"], name
        )
    missing = [key for key in keys if key not in data]
    lack = f"{', '.join(missing)} {'is' if len(missing) == 1 else 'are'} missing"
    raise InputError([f"is no {kind}: {lack}; type {option} and the file that {command} wrote"], name)
