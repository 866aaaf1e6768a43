"""The pictures of what a motor does on its supply: speeds, turns, seconds, flight, map."""

from fem_motor.charts import canvas
from fem_motor.charts.drawing.throttle_curves import (
    draw_density,
    draw_flight,
    draw_speed_map,
    draw_speed_power,
    draw_speed_torque,
    draw_turns,
)
from fem_motor.charts.picture import Picture
from fem_motor.numbers import digits, quantity
from fem_motor.performance import PerformanceSheet

_LEGEND_ABOVE = (0.8, 0.7, 0.5, 0.35)
_TWO_ROWS_ABOVE = (0.8, 0.7, 0.5, 0.55)


def speeds_picture(sheet: PerformanceSheet) -> Picture | None:
    """Return torque, power and efficiency over speed."""
    if sheet.throttles is None or not sheet.throttles.curve.speed_rpm.size:
        return None
    curve = sheet.throttles.curve

    def draw(frame: canvas.Frame) -> None:
        above, below = frame.subplots((1.3, 1.0))
        draw_speed_torque(curve, above)
        draw_speed_power(curve, below)

    largest = quantity(float(curve.torque_Nm.max(initial=0.0)), "N m", count=3)
    top = quantity(float(curve.speed_rpm[-1]), "rpm", count=3)
    best = f"{digits(100 * float(curve.efficiency.max(initial=0.0)), 3)} %"
    return Picture(
        name="speed_torque",
        topic="drive",
        title="Torque, power and efficiency over speed",
        caption="Above: what full throttle gives at each speed, within the current limit; the "
        "load's line; dotted area: what every part survives for good, whatever the "
        "throttle. Below: power and efficiency at full throttle. Computed, copper and magnets "
        "at 20 °C; dotted area by the thermal network with its assumptions.",
        alt=f"Curves of torque (at most {largest}), shaft power and efficiency (at most "
        f"{best}) from standstill to {top}, with the load's line and the area that heat "
        "allows for good.",
        height=4.6,
        margins=_LEGEND_ABOVE,
        draw=draw,
    )


def turns_picture(sheet: PerformanceSheet) -> Picture | None:
    """Return power and current against the turns of a coil."""
    turns = sheet.winding_to_load
    if turns is None or not turns.rows:
        return None

    def draw(frame: canvas.Frame) -> None:
        draw_turns(turns, *frame.subplots())

    best = "" if turns.best is None else f"; best {turns.best.turns} turns of {turns.best.wire}"
    own = "" if turns.designed is None else f"{turns.designed.turns} turns in the design"
    return Picture(
        name="turns",
        topic="drive",
        title="Which winding suits this load",
        caption="Shaft power at full throttle and for good, and current from the supply, "
        "against the turns of a coil, with wire that fills the same copper. Power for good "
        "hardly changes: the same copper is the same motor. Where both lines meet full "
        "throttle is what the motor survives. Computed from the fields of the design.",
        alt=f"Curves of power and current against turns: {own}{best}.",
        height=3.2,
        margins=_TWO_ROWS_ABOVE,
        draw=draw,
    )


def seconds_picture(sheet: PerformanceSheet) -> Picture | None:
    """Return seconds until the first limit against current density."""
    if sheet.throttles is None or not sheet.throttles.density.rows:
        return None
    throttles = sheet.throttles

    def draw(frame: canvas.Frame) -> None:
        draw_density(throttles, *frame.subplots())

    first = throttles.density.rows[0]
    changes = "; ".join(
        f"from {digits(change.density_A_per_mm2, 3)} A/mm² on {change.above} instead of "
        f"{change.below}"
        for change in throttles.density.changes
    )
    part = f"First at its limit: {first.part}" + (
        f"; {changes}." if changes else " at all of them."
    )
    return Picture(
        name="current_density",
        topic="heat",
        title="Seconds until the first limit",
        caption=f"From cold, at a current that stays, the rotor turning as at the load. {part} "
        "Band: films within a factor 1.5, contacts and mount in their ranges.",
        alt="Falling curve of seconds against current density in the copper. " + part,
        height=3.2,
        margins=_TWO_ROWS_ABOVE,
        draw=draw,
    )


def profile_picture(sheet: PerformanceSheet) -> Picture | None:
    """Return temperatures over a profile of throttle."""
    flight = sheet.flight
    if flight is None:
        return None

    def draw(frame: canvas.Frame) -> None:
        above, below = frame.subplots((2.2, 1.0))
        draw_flight(flight, above, below)

    energy = quantity(flight.energy_Wh, "W h", count=3)
    return Picture(
        name="profile",
        topic="heat",
        title="Temperatures over the profile",
        caption="Flown from cold, the operating point following the temperatures; at throttle "
        f"0 the rotor stands. It takes {energy} from the supply. {flight.finding.why}",
        alt=f"Curves of temperatures over the profile of throttle: {flight.finding.why}",
        height=4.2,
        margins=_TWO_ROWS_ABOVE,
        draw=draw,
    )


def efficiency_picture(sheet: PerformanceSheet) -> Picture | None:
    """Return the map of the efficiency."""
    grid = sheet.speed_map
    if grid is None:
        return None

    def draw(frame: canvas.Frame) -> None:
        draw_speed_map(grid, *frame.subplots())

    best = (
        f"{digits(100 * grid.best_efficiency, 3)} % at {quantity(grid.best_speed_rpm, 'rpm')} and "
        f"{quantity(grid.best_torque_Nm, 'N m')}"
    )
    share = grid.holds_for_good.sum() / max(1.0, grid.is_reached.sum())
    held = " (all of them)" if share == 1 else " (none of them)" if share == 0 else ""
    return Picture(
        name="efficiency_map",
        topic="drive",
        title="Efficiency over speed and torque",
        caption="Supply to shaft, any throttle, copper and magnets at 20 °C. Star: the best of "
        f"the grid, {best}. Dashed: edge of what can be held for good, by its points{held}. "
        "White: beyond the voltage, the current limit or the controller's speed.",
        alt=f"Map of the efficiency over speed and torque; best {best}.",
        height=3.4,
        draw=draw,
    )
