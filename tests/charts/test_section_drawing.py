import math
from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest
from matplotlib.figure import Figure
from matplotlib.text import Text

from fem_motor.arrays import FloatArray
from fem_motor.charts.drawing import section_drawing
from fem_motor.charts.drawing.section_drawing import draw_detail, draw_section
from fem_motor.charts.drawing.shapes import Shape, coil_places, magnetisation, shapes_of
from fem_motor.design import Motor, Rotor, Stator
from fem_motor.section import cross_section
from fem_motor.units import DEG, MM


def motor(*, layers: int = 2, stator: dict[str, Any] | None = None, **rotor: Any) -> Motor:  # noqa: ANN401  (fields of Rotor)
    """Return a motor that has what a drawing needs: sizes and no materials."""
    sizes: dict[str, Any] = {
        "slots": 18,
        "outer_radius": 28 * MM,
        "inner_radius": 11 * MM,
        "yoke_thickness": 4 * MM,
        "tooth_width": 4 * MM,
        "slot_opening": 1.8 * MM,
        "tip_thickness": 1 * MM,
        "tip_taper": 20 * DEG,
        "slot_liner": 0.3 * MM,
        "core": None,
        "core_fraction": 1.0,
    } | (stator or {})
    magnets: dict[str, Any] = {
        "poles": 16,
        "magnet_layout": "alternating",
        "segments_per_pole": 1,
        "strong_side": "stator",
        "magnet_shape": "block",
        "magnet_arc_fraction": None,
        "magnet_width": 8 * MM,
        "magnet_thickness": 3 * MM,
        "magnetisation": "parallel",
        "magnet": None,
        "magnet_inner_radius": 28.8 * MM,
        "pocket_skin": 0.0,
        "ring": None,
        "ring_thickness": 0.0,
        "housing": None,
        "housing_thickness": 3 * MM,
    } | rotor
    return SimpleNamespace(  # type: ignore[return-value]  # the parts of a motor that are drawn
        air_gap=0.8 * MM,
        stator=Stator(**sizes),
        rotor=Rotor(**magnets),
        winding=SimpleNamespace(layers=layers),
    )


@pytest.fixture
def drawn(monkeypatch: pytest.MonkeyPatch) -> None:
    """Let the drawing take the motors of this file, and coils that are always the same."""
    coils = tuple("U+ U- U+ V- V+ V- W+ W- W+ U- U+ U- V+ V- V+ W- W+ W-".split())
    monkeypatch.setattr(section_drawing, "motor_of", lambda motor: motor)
    monkeypatch.setattr(section_drawing, "wind", lambda _: SimpleNamespace(coils=coils))


def area(outline: FloatArray) -> float:
    """Return the area inside a closed polygon (shoelace)."""
    x, y = outline
    return abs(float(np.dot(x, np.roll(y, -1)) - np.dot(y, np.roll(x, -1)))) / 2


def of_kind(shapes: tuple[Shape, ...], kind: str) -> list[Shape]:
    return [shape for shape in shapes if shape.kind == kind]


def test_the_whole_section_holds_each_half_cell_twice_a_pitch() -> None:
    shapes = shapes_of(motor())
    assert len(of_kind(shapes, "coil")) == 2 * 18
    assert len(of_kind(shapes, "magnet")) == 2 * 16


def test_block_magnets_have_their_area() -> None:
    # 16 blocks of 8 mm by 3 mm.
    total = sum(area(shape.outline) for shape in of_kind(shapes_of(motor()), "magnet"))
    assert total == pytest.approx(16 * 8 * 3 * MM**2, rel=1e-9)


def test_core_and_coils_have_the_exact_area_of_their_regions() -> None:
    # The regions' areas are exact; polygons with steps of 2° lose (2°)²/6 of a circular part.
    shapes, cell = shapes_of(motor()), cross_section(motor()).stator
    for kind in ("core", "coil"):
        exact = sum(region.area for region in cell.regions if region.label == kind)
        total = sum(area(shape.outline) for shape in of_kind(shapes, kind))
        assert total == pytest.approx(2 * 18 * exact, rel=(2 * DEG) ** 2)


def has_line_along(shapes: list[Shape], angle: float) -> bool:
    """Return whether a border runs along the ray at this angle."""
    for shape in shapes:
        for x, y in shape.border:
            if np.all(np.abs(x * math.sin(angle) - y * math.cos(angle)) < 1e-9):
                return bool(np.all(x * math.cos(angle) + y * math.sin(angle) >= 0))
    return False


def test_a_cut_between_half_cells_is_not_drawn_as_an_edge() -> None:
    shapes = shapes_of(motor())
    assert not has_line_along(of_kind(shapes, "core"), 0.0)
    assert not has_line_along(of_kind(shapes, "core"), math.pi / 18)
    assert not has_line_along(of_kind(shapes, "magnet"), 0.0)


def test_a_solid_core_has_no_edge_through_its_centre() -> None:
    shapes = shapes_of(motor(stator={"inner_radius": 0.0, "yoke_thickness": 15 * MM}))
    for shape in of_kind(shapes, "core"):
        for piece in shape.border:
            assert np.hypot(*piece).min() > 1e-9


def test_two_coils_share_a_slot_with_an_edge_between_them_and_one_coil_has_none() -> None:
    slot_axis = math.pi / 18
    assert has_line_along(of_kind(shapes_of(motor(layers=2)), "coil"), slot_axis)
    assert not has_line_along(of_kind(shapes_of(motor(layers=1)), "coil"), slot_axis)


def test_alternating_magnets_point_in_and_out_by_turns_pole_1_inwards() -> None:
    inward = [math.cos(direction - axis) for axis, direction in magnetisation(motor())]
    np.testing.assert_allclose(inward, [-1, 1] * 8, atol=1e-12)


@pytest.mark.parametrize(("side", "tangential"), [("stator", 1.0), ("outside", -1.0)])
def test_halbach_magnets_between_the_poles_point_along_the_gap(
    side: str, tangential: float
) -> None:
    # By following the flux: where it is strong at the stator it leaves the magnets inwards at
    # pole 1 and enters them at pole 2, so between them it runs in the magnets from pole 2 back to
    # pole 1, clockwise. Strong outside, the flux turns in the open and the magnet points the
    # other way.
    halbach = motor(magnet_layout="halbach", segments_per_pole=2, strong_side=side)
    inward, along = [], []
    for axis, direction in magnetisation(halbach):
        inward.append(math.cos(direction - axis))
        along.append(math.sin(direction - axis))
    np.testing.assert_allclose(inward, [-1, 0, 1, 0] * 8, atol=1e-12)
    np.testing.assert_allclose(along[1], -tangential, atol=1e-12)


def test_a_coils_name_stands_on_its_tooth() -> None:
    # Tooth k is centred at (k − 1) slot pitches; a tooth without a coil has no name.
    places = list(coil_places(motor(), ("U+", "", "V-")))
    assert [(name, round(angle / (20 * DEG), 9)) for name, _, angle in places] == [
        ("U+", 0.0),
        ("V-", 2.0),
    ]


@pytest.mark.usefixtures("drawn")
def test_every_part_is_named_and_no_text_leaves_the_picture() -> None:
    figure = Figure(figsize=(7, 4.5))
    axes = figure.subplots()
    draw_section(motor(ring=object(), ring_thickness=2 * MM), axes)
    words = [text.get_text() for text in axes.texts]
    for part in ("housing", "ring", "magnet", "air gap", "coil", "tooth", "yoke", "hub bore"):
        assert any(word.startswith(part) for word in words), part
    assert {"U+", "W-"} <= set(words)
    assert axes.get_xlabel() == "x, mm"


@pytest.mark.usefixtures("drawn")
def test_the_detail_gives_the_main_dimensions_in_millimetres() -> None:
    axes = Figure(figsize=(7, 4.1)).subplots()
    draw_detail(motor(pocket_skin=0.4 * MM, magnet_inner_radius=29.2 * MM), axes)
    words = {text.get_text() for text in axes.texts}
    assert {
        "yoke\n4", "slot\n12", "tip\n1", "air gap\n0.8", "skin\n0.4", "magnet\n3", "housing\n3",
        "tooth width\n4", "slot opening\n1.8", "magnet width\n8",
        "in mm",
    } <= words  # fmt: skip


@pytest.mark.usefixtures("drawn")
@pytest.mark.parametrize("poles", [16, 60])
def test_texts_of_the_detail_do_not_overlap(poles: int) -> None:
    figure = Figure(figsize=(7, 4.1))
    axes = figure.subplots()
    draw_detail(motor(poles=poles, magnet_width=2 * MM, ring=object(), ring_thickness=1 * MM), axes)
    figure.draw_without_rendering()
    # Of the words alone: an annotation's own extent includes its line.
    boxes = [Text.get_window_extent(text) for text in axes.texts if text.get_text()]
    for place, box in enumerate(boxes):
        assert not any(box.overlaps(other) for other in boxes[place + 1 :])
