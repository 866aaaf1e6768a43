"""The page of the fields of result.json is whole, and says what the JSON is."""

import inspect
from dataclasses import fields
from pathlib import Path
from typing import Any

import pytest
import sheet_of_sines as sines

from fem_motor.performance import PerformanceSheet
from fem_motor.quantities import RotorSweep
from fem_motor.report import result_to_json
from fem_motor.report.json_reference import (
    documented_fields,
    json_field_reference,
    places_of_records,
)

PAGE = Path(__file__).parents[2] / "docs" / "user" / "result_json.md"
HOW_TO = "write it anew: json_field_reference() of fem_motor/report/json_reference.py."
EVERYWHERE = {"format", "provenance"}


def keys_at(plain: Any, place: str) -> set[str]:  # noqa: ANN401  (JSON data)
    """Return the keys of the object at a place of the page; empty where there is none."""
    for word in place.replace("[…]", ".0").split("."):
        if word == "NAME":
            plain = next(iter(plain.values()))
        elif word == "0":
            plain = plain[0] if plain else {}
        elif word:
            plain = plain[word]
        if plain is None:
            return set()
    return set(plain)


def test_the_page_is_what_the_docstrings_say() -> None:
    assert PAGE.read_text(encoding="utf-8") == json_field_reference(), HOW_TO


@pytest.mark.parametrize("root", [PerformanceSheet, RotorSweep])
def test_every_field_of_a_result_stands_in_the_docstring_of_its_record(root: type) -> None:
    for record in places_of_records(root):
        listed = (inspect.getdoc(record) or "").partition("\nAttributes\n")[2]
        missing = [one.name for one in fields(record) if one.name not in listed]
        assert not missing, f"name {missing} under Attributes of {record.__name__}, then {HOW_TO}"
        assert len(documented_fields(record)) == len(fields(record))


def test_the_json_has_no_field_that_the_page_has_not() -> None:
    plain = result_to_json(sines.sheet())
    looked_at = 0
    for record, places in places_of_records(PerformanceSheet).items():
        for place in places:
            found = keys_at(plain, place) - EVERYWHERE
            looked_at += bool(found)
            assert found <= {one.name for one in fields(record)}, place
    assert looked_at > 12, "the sheet of sines has at least the sheet and its twelve parts"


def test_seconds_and_squares_have_their_units() -> None:
    page = json_field_reference()
    assert "| `seconds_to_soften_core` | float or None | s |" in page
    assert "| `density_A_per_mm2` | float | A/mm² | RMS in the copper. |" in page
