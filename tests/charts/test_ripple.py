from dataclasses import replace

import numpy as np
import pytest
import sheet_of_sines as sines
from matplotlib.figure import Figure

from fem_motor.arrays import FloatArray
from fem_motor.charts import canvas
from fem_motor.charts.drawing.ripple import (
    draw_ripple,
    ripple_of_sheet,
    ripple_of_sweep,
    write_ripple,
)
from fem_motor.charts.picture import Picture, SweepSetting
from fem_motor.charts.pictures.sheet_pictures import sheet_pictures
from fem_motor.charts.pictures.sweep_pictures import sweep_pictures
from fem_motor.charts.sweep_words import currents_in_words
from fem_motor.design import MotorDesign
from fem_motor.quantities import RotorSweep
from fem_motor.quantities.records import Waveform

DESIGN = MotorDesign.from_dict(sines.DESIGN)
P = sines.POLE_PAIRS


def known(samples: int = 91, last_deg: float = 45.0, *, sixth: float = 0.02) -> RotorSweep:
    """Return torque of 0.3 N m with known sixth and eighteenth electrical orders."""
    angle = np.linspace(0.0, last_deg, samples)
    electrical = P * np.radians(angle)
    torque = 0.3 + sixth * np.sin(6 * electrical) + 0.005 * np.cos(18 * electrical)
    currents = 10.0 * np.sin(electrical - np.radians([[0.0], [120.0], [240.0]]))
    return sines.sweep(
        samples,
        angle_deg=angle,
        torque_Nm=torque,
        currents_A=currents,
        flux_linkage_Wb=1.9e-3 * sines.three_phases(angle),
    )


def known_with(waveform: Waveform) -> RotorSweep:
    return replace(known(), waveform=waveform)


def largest(values: FloatArray, count: int) -> list[int]:
    return sorted(np.argsort(values)[-count:].tolist())


@pytest.mark.parametrize("last_deg", [7.5, 15.0, 45.0, 90.0])
def test_orders_and_amplitudes_are_those_of_the_curve(last_deg: float) -> None:
    # 60 electrical degrees are 7.5° at 8 pole pairs; orders 6 and 18 are 48 and 144 in a turn.
    ripple = ripple_of_sweep(known(last_deg=last_deg), DESIGN)
    assert ripple.mean_Nm == pytest.approx(0.3)
    chosen = largest(ripple.amplitude_Nm, 2)
    np.testing.assert_allclose(ripple.order[chosen], [48, 144])
    np.testing.assert_allclose(ripple.amplitude_Nm[chosen], [0.02, 0.005])
    assert np.delete(ripple.amplitude_Nm, chosen).max() < 1e-12


def test_ripple_in_per_cent_is_peak_to_peak_over_the_mean() -> None:
    ripple = ripple_of_sweep(known(721, sixth=0.0), DESIGN)
    assert ripple.fraction == pytest.approx(2 * 0.005 / 0.3, rel=1e-3)
    assert ripple.sentence == "mean 300 mN m, peak to peak 10 mN m (3.33 % of the mean)"


def test_without_working_torque_there_is_no_per_cent() -> None:
    for currents in ([0.0, 0.0, 0.0], [10.0, -5.0, -5.0]):
        held = np.repeat(np.array(currents)[:, None], 91, axis=1)
        ripple = ripple_of_sweep(sines.sweep(91, currents_A=held), DESIGN)
        assert ripple.fraction is None
        assert "%" not in ripple.sentence


@pytest.mark.parametrize("last_deg", [3.0, 44.0, 46.0])
def test_a_sweep_over_part_of_a_period_has_no_spectrum_and_says_why(last_deg: float) -> None:
    ripple = ripple_of_sweep(known(last_deg=last_deg), DESIGN)
    assert ripple.order.size == 0
    assert ripple.no_spectrum == (
        "No spectrum: it takes a sweep over whole periods of the torque of 7.5°."
    )


def test_a_torque_whose_ends_differ_has_no_spectrum() -> None:
    # A machine with a defect: the span is a period of the design, the torque does not close.
    sweep = known()
    tilted = sines.sweep(
        91,
        angle_deg=sweep.angle_deg,
        torque_Nm=sweep.torque_Nm + np.linspace(0, 0.01, 91),
        currents_A=sweep.currents_A,
    )
    assert ripple_of_sweep(tilted, DESIGN).no_spectrum


def test_a_weak_magnet_makes_the_whole_turn_the_period() -> None:
    weak = DESIGN.replace("as_built.magnets", [{"index": 3, "remanence_factor": 0.9}])
    assert ripple_of_sweep(known(), weak).no_spectrum.endswith("of 360°.")


@pytest.mark.parametrize("samples", [1, 2, 8])
def test_few_points_have_no_spectrum(samples: int) -> None:
    ripple = ripple_of_sweep(known(samples), DESIGN)
    assert ripple.no_spectrum == "No spectrum: it takes 8 equal steps or more."


def test_unpowered_sweeps_are_read_over_cogging_periods() -> None:
    # 360°/lcm(18, 16) = 2.5°.
    angle = np.linspace(0.0, 5.0, 33)
    sweep = sines.sweep(
        33,
        angle_deg=angle,
        torque_Nm=8e-4 * np.sin(144 * np.radians(angle)),
        flux_linkage_Wb=1.9e-3 * sines.three_phases(angle),
        currents_A=np.zeros((3, 33)),
    )
    ripple = ripple_of_sweep(sweep, DESIGN)
    (chosen,) = largest(ripple.amplitude_Nm, 1)
    assert ripple.order[chosen] == pytest.approx(144)
    assert ripple.amplitude_Nm[chosen] == pytest.approx(8e-4)


def test_the_sheets_ripple_has_its_orders_per_turn() -> None:
    # Six-step: a scallop every 60 electrical degrees; order 6 is 48 in a turn at 8 pole pairs.
    ripple = ripple_of_sheet(sines.sheet())
    assert ripple.order[0] == pytest.approx(48)
    assert ripple.angle_deg[-1] == pytest.approx(7.5)
    assert ripple.torque_Nm[-1] == ripple.torque_Nm[0]


def test_orders_are_marked_electrical_above_mechanical() -> None:
    figure = Figure(figsize=(7, 4.8))
    above, below = figure.subplots(2)
    draw_ripple(ripple_of_sweep(known(last_deg=7.5), DESIGN), above, below)
    assert [label.get_text() for label in below.get_xticklabels()][:3] == [
        "6\n48", "12\n96", "18\n144",
    ]  # fmt: skip
    # Shares of the mean, at the bars: 20 and 5 of 300 mN m.
    assert [text.get_text() for text in below.texts] == ["6.7 %", "1.7 %"]
    assert below.get_ylabel() == "amplitude, mN m"


def drawn_words(picture: Picture) -> str:
    with canvas.house_style():
        figure = canvas.new_figure(picture.width, picture.height)
        picture.draw_into(figure)
        figure.draw_without_rendering()
        edges = figure.bbox
        texts = [text for axes in figure.axes for text in axes.texts if text.get_text()]
        for text in texts:
            box = text.get_window_extent()
            assert edges.x0 <= box.x0, text
            assert box.x1 <= edges.x1, text
            assert box.y1 <= edges.y1, text
    texts.sort(key=lambda text: -text.get_window_extent().y0)
    return " ".join(text.get_text() for text in texts)


@pytest.mark.parametrize("title", ["Reed-bed drive", "GREAT WORDS " * 40, "0123456789" * 30])
def test_sweep_pictures_say_what_was_computed_and_no_word_leaves_them(title: str) -> None:
    setting = SweepSetting(
        design=DESIGN.replace("title", title), quality="draft", current_angle_deg=5.0
    )
    for picture in sweep_pictures(known(), setting):
        words = drawn_words(picture)
        for piece in ("2-D section", "20 °C", "quality draft", "10 A peak", "current angle 5°"):
            assert piece in words


def test_the_sheets_ripple_picture_says_under_it_what_was_computed() -> None:
    (picture,) = (picture for picture in sheet_pictures(sines.sheet()) if picture.name == "ripple")
    words = picture.caption
    for piece in ("2-D section", "20 °C", "quality standard", "six-step", "4 A peak in the line"):
        assert piece in words


def test_currents_are_named_as_they_are() -> None:
    still = np.zeros((3, 5))
    held = np.repeat([[10.0], [-5.0], [-5.0]], 5, axis=1)
    odd = np.arange(15.0).reshape(3, 5)
    for currents, words in (
        (still, "no current"),
        (held, "held at 10, -5, -5 A"),
        (odd, "branch currents as given"),
    ):
        torque, _ = sweep_pictures(sines.sweep(5, currents_A=currents), SweepSetting())
        assert words in torque.caption


@pytest.mark.parametrize(
    ("waveform", "currents", "peak"),
    [
        # A vector of this size has sines of 2/sqrt(3) times the blocks: nobody's peak.
        ("six-step", [[10.0, 10.0, 0.0], [-10.0, 0.0, 10.0], [0.0, -10.0, -10.0]], "10 A"),
        # Blocks of 15 A in the lines of a delta: its branches carry two thirds and one third.
        ("six-step", [[10.0, 5.0, -5.0], [-5.0, 5.0, 10.0], [-5.0, -10.0, -5.0]], "10 A"),
        # Three sines, none of them at its peak at either angle.
        (
            "sine",
            10.0 * np.sin(np.radians([[50.0, 20.0], [-70.0, -100.0], [170.0, 140.0]])),
            "10 A",
        ),
    ],
)
def test_the_peak_that_is_named_is_the_peak_of_the_branch_currents(
    waveform: Waveform, currents: list[list[float]] | FloatArray, peak: str
) -> None:
    sweep = sines.sweep(len(currents[0]), currents_A=np.array(currents), waveform=waveform)
    assert f"{waveform} branch currents of {peak} peak" in currents_in_words(sweep)


@pytest.mark.parametrize(("waveform", "share"), [("sine", 0.05), ("six-step", 0.15)])
def test_limits_lie_half_their_share_from_the_mean_and_are_named_as_choices(
    waveform: Waveform, share: float
) -> None:
    # 5 % and 15 % peak to peak of 0.3 N m: 7.5 mN m and 22.5 mN m either way.
    ripple = ripple_of_sweep(known_with(waveform), DESIGN)
    with canvas.house_style():
        above, below = canvas.new_figure(7, 5).subplots(2)
        draw_ripple(ripple, above, below)
        write_ripple(ripple, above)
    dotted = sorted(
        float(np.asarray(line.get_ydata())[0])
        for line in above.lines
        if line.get_linestyle() == ":"
    )
    unit = 1e3 if "mN" in above.get_ylabel() else 1.0
    assert dotted == pytest.approx([unit * 0.3 * (1 - share / 2), unit * 0.3 * (1 + share / 2)])
    words = " ".join(text.get_text() for text in above.texts)
    assert "a choice of this project (common practice, no source)" in words


def test_torque_without_turning_currents_has_no_limit() -> None:
    assert ripple_of_sweep(known_with("held"), DESIGN).limit is None


@pytest.mark.parametrize("last_deg", [7.5, 45.0])
def test_every_bar_of_the_spectrum_stands_on_a_mark(last_deg: float) -> None:
    # Over a whole electrical period the spectrum has orders 1, 2, 3 …; this torque has 6 and 18.
    axes = Figure().subplots(2)
    draw_ripple(ripple_of_sweep(known(last_deg=last_deg), DESIGN), *axes)
    marks = axes[1].get_xticks()
    assert {6 * P, 18 * P} <= set(np.round(marks, 6).tolist())
