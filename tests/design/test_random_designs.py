"""Random designs that can be built, and what becomes of them when one value is spoilt."""

import contextlib
import copy
import json
import math
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import tomlkit
from hypothesis import given, settings
from hypothesis import strategies as st
from strategies import Tables, design_tables, designs, same_motor

from fem_motor.design import MotorDesign, check_design, coil_side_area
from fem_motor.errors import DesignError, Problem
from fem_motor.winding import wind

# The same examples every time: what fails here fails on every desk.
STEADY = settings(max_examples=50, deadline=None, derandomize=True)

Way = tuple[str | int, ...]

GALLERY = Path(__file__).resolve().parent.parent.parent / "geometries"
TEXTS = [path.read_text(encoding="utf-8") for path in sorted(GALLERY.glob("*.toml"))]

NUMBERS = st.one_of(
    st.floats(),
    st.integers(),
    st.sampled_from([0, -0.0, -1, 1, 1e-300, 1e30, -1e30, 10**400, math.nan, math.inf]),
)
ANYTHING = st.recursive(
    st.one_of(st.booleans(), NUMBERS, st.text(max_size=8), st.sampled_from(["none", "arc", "U+"])),
    lambda inside: st.one_of(
        st.lists(inside, max_size=3), st.dictionaries(st.text(max_size=4), inside, max_size=3)
    ),
    max_leaves=5,
)


def leaves(value: object, path: Way = ()) -> Iterator[tuple[Way, Any]]:
    """Yield every value that holds no others, with the way to it."""
    inside: Iterator[tuple[str | int, Any]] = iter(())
    if isinstance(value, dict):
        inside = iter(value.items())
    elif isinstance(value, list):
        inside = iter(enumerate(value))
    else:
        yield path, value
    for name, part in inside:
        yield from leaves(part, (*path, name))


def is_number(value: object) -> bool:
    return isinstance(value, int | float) and not isinstance(value, bool)


def spoilt(tables: Tables, path: Way, value: object) -> Tables:
    """Return the tables with another value at the end of a path."""
    changed = copy.deepcopy(tables)
    place: Any = changed
    for name in path[:-1]:
        place = place[name]
    place[path[-1]] = value
    return changed


def loaded(tables: Tables) -> tuple[MotorDesign | None, tuple[Problem, ...]]:
    """Return the design, or the problems; no other error is caught."""
    try:
        return MotorDesign.from_dict(tables, name="boat"), ()
    except DesignError as error:
        return None, error.problems


def assert_loads_and_makes_sense_or_is_refused(tables: Tables) -> None:
    """Load the tables; anything but a design or a well-told DesignError goes through."""
    design, problems = loaded(tables)
    for problem in problems:
        assert problem.place.startswith("boat: ")
        assert problem.what
        assert problem.why
        assert problem.do
    if design is None:
        assert problems
        return
    assert same_motor(MotorDesign.from_dict(design.to_dict()).motor, design.motor)
    assert math.isfinite(coil_side_area(design.motor.stator))
    assert coil_side_area(design.motor.stator) > 0
    for finding in check_design(design):
        assert finding.value is not None
        assert math.isfinite(finding.value)
        assert "nan" not in str(finding)


@STEADY
@given(tables=design_tables())
def test_a_random_design_written_and_read_again_is_the_same(tables: Tables) -> None:
    design = MotorDesign.from_dict(tables)
    again = MotorDesign.from_toml(design.to_toml())
    assert again == design
    assert same_motor(again.motor, design.motor)
    through_json = MotorDesign.from_dict(json.loads(json.dumps(design.to_dict(), allow_nan=False)))
    assert through_json == design
    assert same_motor(through_json.motor, design.motor)


@STEADY
@given(tables=design_tables())
def test_a_random_design_keeps_every_value_that_it_was_given(tables: Tables) -> None:
    values = MotorDesign.from_toml(tomlkit.dumps(tables)).to_dict()
    for path, value in leaves(tables):
        found: Any = values
        for name in path:
            found = found[name]
        assert found == value


@STEADY
@given(design=designs())
def test_a_random_design_can_be_wound_and_its_sizes_follow_one_another(
    design: MotorDesign,
) -> None:
    stator, rotor = design.motor.stator, design.motor.rotor
    assert 0 <= stator.inner_radius < stator.yoke_radius < stator.tip_corner_radius
    assert stator.tip_corner_radius < stator.outer_radius < rotor.magnet_inner_radius
    assert rotor.magnet_inner_radius < rotor.magnet_outer_radius
    assert rotor.magnet_outer_radius <= rotor.ring_outer_radius <= rotor.housing_outer_radius
    assert 0 < wind(design.motor).fill_factor < math.pi / math.sqrt(12)  # round wires


@settings(STEADY, max_examples=100)
@given(data=st.data(), tables=design_tables(), value=NUMBERS)
def test_one_number_spoilt_is_refused_or_makes_another_design(
    data: st.DataObject, tables: Tables, value: float
) -> None:
    path, _ = data.draw(st.sampled_from([leaf for leaf in leaves(tables) if is_number(leaf[1])]))
    assert_loads_and_makes_sense_or_is_refused(spoilt(tables, path, value))


@settings(STEADY, max_examples=100)
@given(data=st.data(), tables=design_tables(), factor=st.floats(0.05, 20))
def test_one_number_scaled_is_refused_or_makes_another_design(
    data: st.DataObject, tables: Tables, factor: float
) -> None:
    numbers = [leaf for leaf in leaves(tables) if is_number(leaf[1])]
    path, value = data.draw(st.sampled_from(numbers))
    assert_loads_and_makes_sense_or_is_refused(spoilt(tables, path, value * factor))


@settings(STEADY, max_examples=100)
@given(data=st.data(), tables=design_tables(), value=ANYTHING)
def test_anything_in_place_of_a_value_or_a_section_is_refused_or_makes_another_design(
    data: st.DataObject, tables: Tables, value: object
) -> None:
    places = {path[:length] for path, _ in leaves(tables) for length in range(1, len(path) + 1)}
    path = data.draw(st.sampled_from(sorted(places, key=str)))
    assert_loads_and_makes_sense_or_is_refused(spoilt(tables, path, value))


@settings(STEADY, max_examples=200)
@given(data=st.data(), text=st.sampled_from(TEXTS))
def test_a_file_with_a_piece_torn_out_is_a_design_or_a_design_error(
    data: st.DataObject, text: str
) -> None:
    start = data.draw(st.integers(0, len(text)))
    end = data.draw(st.integers(start, min(len(text), start + 40)))
    torn = text[:start] + data.draw(st.text(max_size=3)) + text[end:]
    with contextlib.suppress(DesignError):
        MotorDesign.from_toml(torn)
