"""The pictures of a sweep: torque with the orders of its ripple, and flux linkage."""

from fem_motor.charts import canvas
from fem_motor.charts.drawing.curves import draw_flux_linkage
from fem_motor.charts.drawing.ripple import (
    draw_ripple,
    is_held,
    ripple_of_sweep,
    turns,
    write_ripple,
)
from fem_motor.charts.picture import HEADED, Picture, SweepSetting, head
from fem_motor.charts.sweep_words import currents_in_words
from fem_motor.numbers import digits
from fem_motor.quantities import RotorSweep


def sweep_pictures(sweep: RotorSweep, setting: SweepSetting) -> tuple[Picture, ...]:
    """Return torque with the orders of its ripple, and flux linkage, over rotor angle."""
    ripple, computed = ripple_of_sweep(sweep, setting.design), _sweep_words(sweep, setting)
    title = "" if setting.design is None else f" {setting.design.title}"

    def torque(frame: canvas.Frame) -> None:
        above, below = frame.subplots((1.3, 1.0))
        head(above, f"Torque over rotor angle.{title}", computed)
        draw_ripple(ripple, above, below)
        write_ripple(ripple, above)

    def linkage(frame: canvas.Frame) -> None:
        (axes,) = frame.subplots()
        draw_flux_linkage(sweep, axes)
        head(axes, f"Flux linkage over rotor angle.{title}", computed, above=0.3)

    return (
        Picture(
            name="torque",
            title="Torque over rotor angle",
            caption=f"On the rotor, counter-clockwise positive; {computed}.",
            alt=f"Curve of the torque over rotor angle, {ripple.sentence}, and the spectrum of its "
            "ripple by order.",
            width=7.0,
            height=4.8,
            margins=HEADED,
            draw=torque,
        ),
        Picture(
            name="flux_linkage",
            title="Flux linkage over rotor angle",
            caption=f"Phases U, V, W at their terminals; {computed}.",
            alt="Curves of the flux linkage of the three phases over rotor angle.",
            width=7.0,
            height=4.2,
            margins=(*HEADED[:3], HEADED[3] + 0.3),
            draw=linkage,
        ),
    )


def _sweep_words(sweep: RotorSweep, setting: SweepSetting) -> str:
    """Return what a sweep computed: section, quality, currents."""
    quality = f", quality {setting.quality}" if setting.quality else ""
    return f"computed: 2-D section, 20 °C, no end factor{quality}; {_currents(sweep, setting)}"


def _currents(sweep: RotorSweep, setting: SweepSetting) -> str:
    currents = sweep.currents_A
    if not currents.any():
        return "no current"
    if is_held(currents):
        three = ", ".join(digits(value) for value in currents[:, 0].tolist())
        return f"branch currents U, V, W held at {three} A"
    if not turns(sweep):
        return "branch currents as given, changing with the angle"
    return currents_in_words(sweep, setting.current_angle_deg)
