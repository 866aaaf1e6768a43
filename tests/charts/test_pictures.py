import io

import matplotlib as mpl
import numpy as np
import pytest
import sheet_of_sines as sines
from matplotlib.axes import Axes
from matplotlib.collections import TriMesh
from matplotlib.figure import Figure
from PIL import Image

from fem_motor.arrays import FloatArray
from fem_motor.charts import canvas, draw_flux_map
from fem_motor.charts.drawing.curves import (
    draw_back_emf,
    draw_flux_linkage,
    draw_gap_field,
    draw_spectrum,
    draw_torque,
    harmonics_percent,
)


@pytest.fixture
def axes() -> Axes:
    return Figure().subplots()


def lines_of(axes: Axes) -> list[FloatArray]:
    return [np.array(line.get_xydata()) for line in axes.get_lines() if len(line.get_xdata()) > 2]


def test_torque_is_drawn_in_the_unit_that_the_label_says(axes: Axes) -> None:
    sweep = sines.sweep()
    draw_torque(sweep, axes)
    (curve,) = lines_of(axes)
    assert axes.get_ylabel() == "torque on the rotor, mN m"
    np.testing.assert_allclose(curve[:, 1], 1e3 * sweep.torque_Nm)
    np.testing.assert_allclose(curve[:, 0], sweep.angle_deg)
    assert axes.get_xlabel() == "rotor angle, mechanical, °"


def test_cogging_shows_a_few_of_its_periods(axes: Axes) -> None:
    draw_torque(sines.no_load(), axes)
    (curve,) = lines_of(axes)
    # Four periods of 2.5°, in steps of 45°/96.
    assert curve[-1, 0] == pytest.approx(10.0, abs=45 / 96)
    assert curve[-1, 0] <= 10.0


def test_phases_differ_in_line_and_marker_not_only_in_colour(axes: Axes) -> None:
    draw_back_emf(sines.no_load(), axes)
    phases = [line for line in axes.get_lines() if line.get_label() in {"U", "V", "W"}]
    assert len({line.get_linestyle() for line in phases}) == 3
    assert len({line.get_marker() for line in phases}) == 3


def test_a_period_is_drawn_to_its_end(axes: Axes) -> None:
    # One electrical period of 8 pole pairs is 45°; the sheet leaves its end out.
    draw_back_emf(sines.no_load(), axes)
    for curve in lines_of(axes):
        assert curve[-1, 0] == pytest.approx(45.0)
        assert curve[-1, 1] == curve[0, 1]


def test_the_spectrum_shows_each_harmonic_in_per_cent_of_the_fundamental() -> None:
    angle = np.arange(96) * 2 * np.pi / 96
    wave = 3.0 * np.sin(angle) + 0.3 * np.sin(3 * angle) + 0.06 * np.cos(5 * angle)
    expected = np.zeros(25)
    expected[[1, 3, 5]] = 100.0, 10.0, 2.0
    np.testing.assert_allclose(harmonics_percent(wave), expected, atol=1e-10)


def test_a_third_harmonic_of_the_phase_is_gone_between_lines(axes: Axes) -> None:
    draw_spectrum(sines.no_load(), axes)
    heights = {
        (round(bar.get_x() + bar.get_width() / 2), series.get_label()): bar.get_height()
        for series in axes.containers
        for bar in series
    }
    assert heights[3, "phase"] == pytest.approx(6.0)
    assert heights[3, "line to line"] == pytest.approx(0.0, abs=1e-9)


def test_a_wave_of_zeros_has_a_spectrum_of_zeros(axes: Axes) -> None:
    flat = sines.no_load(back_emf_V_per_rad_per_s=np.zeros((3, 96)))
    draw_spectrum(flat, axes)
    assert axes.get_ylim() == (0.0, 1.0)


def test_what_the_mesh_leaves_does_not_look_like_a_harmonic(axes: Axes) -> None:
    electrical = 8 * np.radians(sines.electrical_angles()) - np.radians([[0.0], [120.0], [240.0]])
    wave = np.sin(electrical) + 3e-5 * np.sin(5 * electrical)
    draw_spectrum(sines.no_load(back_emf_V_per_rad_per_s=wave), axes)
    assert axes.get_ylim() == (0.0, 1.0)
    assert [text.get_text() for text in axes.texts] == ["none above 0.003 %"]


def test_the_gap_field_runs_once_around(axes: Axes) -> None:
    draw_gap_field(sines.no_load(), axes)
    assert axes.get_xlim() == (0.0, 360.0)
    assert axes.get_ylabel() == "radial flux density, T"


def test_the_flux_map_is_in_millimetres_and_tesla_and_keeps_its_shape(axes: Axes) -> None:
    field = sines.field_map()
    draw_flux_map(field, axes)
    bar = axes.figure.axes[1]
    assert (axes.get_xlabel(), axes.get_ylabel()) == ("x, mm", "y, mm")
    assert bar.get_ylabel() == "flux density |B|, T"
    assert axes.get_aspect() == 1.0
    # 36 mm, with matplotlib's margin of 5 % or less.
    assert 36.0 <= axes.dataLim.x1 <= 36.1


def test_one_sharp_corner_does_not_darken_the_flux_map(axes: Axes) -> None:
    field = sines.field_map()
    spiked = field.flux_density.copy()
    spiked[0] = 1000.0
    draw_flux_map(
        type(field)(
            points=field.points,
            triangles=field.triangles,
            vector_potential=field.vector_potential,
            flux_density=spiked,
            rotor_angle=0.0,
        ),
        axes,
    )
    (tones,) = (item for item in axes.collections if isinstance(item, TriMesh))
    assert tones.get_clim()[1] <= field.flux_density.max()


def test_the_tones_rise_evenly_in_grey() -> None:
    # Luma of ITU-R BT.601 along the map that the flux picture uses: never falling.
    colours = mpl.colormaps["cividis"](np.linspace(0, 1, 256))[:, :3]
    grey = colours @ [0.299, 0.587, 0.114]
    assert np.all(np.diff(grey) > -1e-3)
    assert grey[-1] - grey[0] > 0.6


@pytest.mark.parametrize("samples", [1, 2, 61])
def test_a_sweep_of_any_length_can_be_drawn(samples: int, axes: Axes) -> None:
    draw_torque(sines.sweep(samples), axes)
    draw_flux_linkage(sines.sweep(samples), axes)
    axes.figure.savefig(io.BytesIO(), format="png")


def test_a_png_is_what_matplotlib_itself_writes_without_its_opaque_fourth_channel() -> None:
    theirs = io.BytesIO()
    with canvas.house_style():
        figure = canvas.new_figure(3, 2)
        draw_torque(sines.sweep(), figure.subplots())
        figure.savefig(theirs, format="png")
        ours = io.BytesIO(canvas.png_bytes(figure))
    with Image.open(theirs) as expected, Image.open(ours) as found:
        pixels, opaque = np.split(np.asarray(expected), [3], axis=2)
        np.testing.assert_array_equal(np.asarray(found), pixels)
        assert opaque.min() == 255
        assert found.info["dpi"] == expected.info["dpi"]
        assert set(found.info) == {"dpi"}


def test_pictures_do_not_depend_on_the_users_own_settings() -> None:
    def picture() -> bytes:
        with canvas.house_style():
            figure = canvas.new_figure(3, 2)
            draw_torque(sines.sweep(), figure.subplots())
            return canvas.svg_bytes(figure) + canvas.png_bytes(figure)

    ours = picture()
    with mpl.rc_context({"font.size": 22, "axes.grid": False, "svg.fonttype": "none"}):
        assert picture() == ours
