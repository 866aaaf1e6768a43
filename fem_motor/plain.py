"""Records as plain data for JSON: the field names of the records, never NaN or infinity."""

import dataclasses
import math
from collections.abc import Iterable, Mapping, Sequence
from typing import Any

import numpy as np

from fem_motor.findings import Finding

# Where each part comes from, in one of the words computed, measured, assumed; what is not named
# here is computed. Nothing that goes in is measured: sizes and materials are taken as the file and
# the library state them, currents and angles as they were asked for.
_PROVENANCE = {
    "design": {"design": "assumed"},
    "answers": {"answers.value": "computed", "answers.low": "assumed", "answers.high": "assumed"},
    "checks": {"checks.value": "computed", "checks.limit": "assumed"},
    "sources": {"sources": "assumed"},
    "timing_s": {"timing_s": "measured"},
    "angle_deg": {"angle_deg": "assumed"},
    "currents_A": {"currents_A": "assumed"},
}
_LABELS = frozenset(("title", "version", "quality", "dofs", "method", "waveform"))


def plain_data(value: object, place: str, gaps: list[str]) -> Any:  # noqa: ANN401  (JSON data)
    """Return `value` as JSON data; places of numbers that are not finite are added to `gaps`.

    >>> plain_data({"torque_Nm": np.array([0.5, np.inf])}, "sweep", gaps := []), gaps
    ({'torque_Nm': [0.5, None]}, ['sweep.torque_Nm'])
    """
    if dataclasses.is_dataclass(value) and not isinstance(value, type):
        return {
            field.name: plain_data(getattr(value, field.name), f"{place}.{field.name}", gaps)
            for field in dataclasses.fields(value)
        }
    if isinstance(value, Mapping):
        return {str(key): plain_data(item, f"{place}.{key}", gaps) for key, item in value.items()}
    if isinstance(value, (np.ndarray, np.generic)):
        return plain_data(value.tolist(), place, gaps)
    if isinstance(value, Sequence) and not isinstance(value, str):
        return [plain_data(item, place, gaps) for item in value]
    return _leaf(value, place, gaps)


def _leaf(value: object, place: str, gaps: list[str]) -> Any:  # noqa: ANN401  (JSON data)
    if isinstance(value, float) and not math.isfinite(value):
        if place not in gaps:
            gaps.append(place)
        return None
    if value is None or isinstance(value, (bool, int, float, str)):
        return value
    return str(value)


_STARTS_A_FORMULA = ("=", "+", "-", "@", "\t", "\r")


def disarmed(cell: str) -> str:
    """Return a cell of a CSV; a text that a spreadsheet would compute stands behind an apostrophe.

    A number stays one. The rule is that of OWASP, CSV Injection.

    >>> disarmed("=1+1"), disarmed("-0.5"), disarmed("U+")
    ("'=1+1", '-0.5', 'U+')
    """
    if not cell.startswith(_STARTS_A_FORMULA):
        return cell
    try:
        float(cell)
    except ValueError:
        return f"'{cell}"
    return cell


def gap_finding(place: str) -> Finding:
    """Return what is said of a place where `plain_data` found no finite number."""
    return Finding(
        name=place,
        status="watch",
        why="the computation gave no finite number here, so the value is left out (null).",
        do="check the design for extreme values; if it is an ordinary one, report this as a bug.",
    )


def provenance(parts: Iterable[str]) -> dict[str, str]:
    """Return by name of each part whether it is computed, measured or assumed."""
    origin: dict[str, str] = {}
    for name in parts:
        if name not in _LABELS:
            origin |= _PROVENANCE.get(name, {name: "computed"})
    return origin
