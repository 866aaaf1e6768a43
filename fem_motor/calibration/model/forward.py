"""What the model says of every measurement, for any values of its parameters.

At a steady point of unknown throttle the speed, the voltage and the torque are taken from the log,
and the duty is found that gives this torque: the current is then the model's word. At full
throttle nothing is left open, and torque and current are both compared. Voltage and current are
those at the controller's input, so the battery does not come in.
"""

import math
from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from functools import partial

import numpy as np

from fem_motor.arrays import FloatArray
from fem_motor.calibration.model.parameters import line_line_resistance
from fem_motor.calibration.model.response import FieldResponse
from fem_motor.calibration.model.surface import Surface, surface
from fem_motor.calibration.records import BenchCheck, ComputedPoint, Evidence, SteadyPoint
from fem_motor.drive import Bridge, ElectricalMachine, limit_state, torque_state
from fem_motor.errors import InputError
from fem_motor.powered import PoweredMotor
from fem_motor.units import MM, ROOM_C, RPM

MODEL_SHARE = 0.01
"""Standard uncertainty of the drive model itself, of every single point: pulses, commutation,
uneven phases; an assumption."""

COLDEST_C, HOTTEST_C = -60.0, 400.0
"""Of copper that was not measured: a wrong log must not drive it to where resistance ends."""

FIELD_DRAG = ("strand_eddy", "core_teeth", "core_yoke", "magnet_eddy", "ring_eddy")

Figures = Mapping[str, float]
"""Values of the parameters by name."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Twist:
    """What a discrete mistake does to the machine, beside the parameters.

    Attributes
    ----------
    flux, resistance, inductance : float
        Factors between two leads.
    speed, torque : float
        Logged over true.
    timing_advance : float or None
        Electrical rad; None: as designed.
    source_resistance : float
        Between where the voltage was read and the controller, ohm.
    """

    flux: float = 1.0
    resistance: float = 1.0
    inductance: float = 1.0
    speed: float = 1.0
    torque: float = 1.0
    timing_advance: float | None = None
    source_resistance: float = 0.0


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class ForwardModel:
    """The solved machine with its response to core and gap.

    Attributes
    ----------
    powered : PoweredMotor
    response : FieldResponse
    evidence : Evidence
    prior : mapping of name to value
        Of all parameters, also those that are not fitted.
    twist : Twist
    """

    powered: PoweredMotor
    response: FieldResponse
    evidence: Evidence
    prior: Figures
    twist: Twist = field(default_factory=Twist)

    def twisted(self, twist: Twist) -> "ForwardModel":
        """Return the same model with another mistake in it."""
        return replace(self, twist=twist)

    def field_logs(self, figures: Figures) -> tuple[float, float]:
        """Return ln of flux linkage and of inductance over those of the design."""
        flux, inductance = self.response.of(
            permeability=figures.get("core_relative_permeability"),
            air_gap=figures["air_gap_mm"] * MM,
            remanence_ratio=figures["remanence_T"] / self.prior["remanence_T"],
        )
        flux += math.log(figures["end_factor"] / self.prior["end_factor"])
        twist = self.twist
        return flux + math.log(twist.flux), inductance + math.log(twist.inductance)

    def lead_resistance(self, figures: Figures, copper_C: float) -> float:
        """Return the resistance between two leads to direct current at a temperature, ohm."""
        conductor = self.powered.losses.conductor
        warm = conductor.resistivity_at(copper_C) / conductor.resistivity_at(ROOM_C)
        return figures["winding_resistance_20C_ohm"] * warm * self.twist.resistance

    def loop_resistance(self, figures: Figures, copper_C: float) -> float:
        """Return that in the way of the current of a turning motor, ohm.

        Skin and proximity and the controller's switches come to it.
        """
        machine = self.powered.machine(copper_C=copper_C)
        branches = 2 / 3 if machine.connection == "delta" else 2.0
        losses = self.powered.losses
        direct = losses.branch_resistance * losses.conductor.resistivity_at(copper_C)
        direct /= losses.conductor.resistivity_at(ROOM_C)
        extra = branches * (machine.resistance - direct) * self.twist.resistance
        controller = figures.get("controller_resistance_mohm", 0.0) / 1e3
        return self.lead_resistance(figures, copper_C) + extra + controller

    def electrical_logs(self, figures: Figures, point: SteadyPoint) -> FloatArray:
        """Return ln of flux factor, loop resistance (ohm) and inductance factor at a point."""
        flux, inductance = self.field_logs(figures)
        loop = self.loop_resistance(figures, self.copper_C(figures, point))
        return np.array([flux, math.log(loop), inductance])

    def copper_C(self, figures: Figures, point: SteadyPoint) -> float:
        """Return the copper's temperature at a point, as logged or as assumed."""
        if point.winding_C is not None:
            return point.winding_C
        assumed = figures.get("winding_temperature_C", self.evidence.ambient_C)
        return min(max(assumed, COLDEST_C), HOTTEST_C)

    def speed(self, point: SteadyPoint) -> float:
        """Return the true speed of a point, rad/s."""
        return point.speed / self.twist.speed

    def drag(self, figures: Figures, speed: float, copper_C: float) -> float:
        """Return the torque that friction, field and air take, N m."""
        turning = max(speed, 1e-3)
        watts = self.powered.drag_losses(
            turning, copper_C=copper_C, magnet_C=self.evidence.ambient_C
        )
        flux, _ = self.field_logs(figures)
        field = sum(watts.get(kind, 0.0) for kind in FIELD_DRAG)
        # Windage, and whatever else neither the field nor the calibrated friction makes.
        others = sum(watts.values()) - field - watts["bearing"]
        field *= figures["eddy_loss_factor"] * math.exp(2 * flux)
        friction = figures["friction_torque_mNm"] / self.prior["friction_torque_mNm"]
        return (field + friction * watts["bearing"] + others) / turning

    def surfaces(self, figures: Figures) -> tuple[Surface, ...]:
        """Return the drive at every point, expanded about `figures`.

        Part throttle: ln current over ln of flux, resistance, inductance and rotor torque. Full:
        ln of torque and current over ln of flux, resistance, inductance and voltage.
        """
        found = []
        for point in self.evidence.points:
            place = self.place(figures, point)
            found.append(surface(partial(self._drive, point), place))
        return tuple(found)

    def place(self, figures: Figures, point: SteadyPoint) -> FloatArray:
        """Return where a point stands on its surface."""
        electrical = self.electrical_logs(figures, point)
        if point.throttle == "full":
            return np.array([*electrical, math.log(self.bus(figures, point))])
        copper = self.copper_C(figures, point)
        torque = point.torque / self.twist.torque / figures.get("torque_reading_factor", 1.0)
        rotor = torque + self.drag(figures, self.speed(point), copper)
        return np.array([*electrical, math.log(max(rotor, 1e-6))])

    def bus(self, figures: Figures, point: SteadyPoint) -> float:
        """Return the true voltage at the controller, V."""
        read = point.voltage / figures.get("voltage_reading_factor", 1.0)
        return max(read - self.twist.source_resistance * point.current, 0.2 * read)

    def _drive(self, point: SteadyPoint, place: FloatArray) -> FloatArray:
        machine = self.machine_with(*np.exp(place[:3]))
        last = math.exp(place[3])
        if point.throttle == "full":
            bridge = self._bridge(last)
            state = limit_state(machine, bridge, speed=self.speed(point))
            return np.log(np.maximum([state.torque, state.supply_current], 1e-6))
        return np.log(np.maximum([self._current_at_torque(machine, point, last)], 1e-6))

    def copper_loss(self, figures: Figures, point: SteadyPoint) -> float | None:
        """Return what heats the winding at a steady point, W, brought to copper of 20 °C.

        None where the logged voltage is too low for the logged torque.
        """
        flux, resistance, inductance = np.exp(self.electrical_logs(figures, point))
        machine = self.machine_with(flux, resistance, inductance)
        bridge = self._bridge(self.bus(figures, point))
        rotor = math.exp(self.place(figures, replace(point, throttle="part"))[3])
        try:
            state = torque_state(machine, bridge, speed=self.speed(point), torque=rotor)
        except InputError:
            if point.throttle == "part":
                return None
            state = limit_state(machine, bridge, speed=self.speed(point))
        # All of the loop carries the current; controller and leads do not warm the winding.
        leads = 2 * self.powered.losses.lead_resistance * self.twist.resistance
        controller = figures.get("controller_resistance_mohm", 0.0) / 1e3
        inside = self.loop_resistance(figures, ROOM_C) - controller - leads
        return float(state.losses["copper"] * inside / resistance)

    def _current_at_torque(
        self, machine: ElectricalMachine, point: SteadyPoint, torque: float
    ) -> float:
        """Return the supply current for a torque; where the bus is too low, by the power."""
        lift = 1.0
        for _ in range(12):
            try:
                bridge = self._bridge(point.voltage * lift)
                state = torque_state(machine, bridge, speed=self.speed(point), torque=torque)
            except InputError:
                lift *= 1.5
            else:
                return lift * state.supply_current
        raise InputError(
            f"= {torque:.4g} N m cannot be had at {self.speed(point) / RPM:.4g} rpm.",
            why="no voltage within a hundred times that of the log gives it.",
            do="check the units of torque and speed in the log.",
            place="torque",
        )

    def machine_with(self, flux: float, loop: float, inductance: float) -> ElectricalMachine:
        """Return the machine with factors on flux and inductance, and all of the loop's ohm."""
        base = self.powered.machine(magnet_C=self.evidence.ambient_C)
        is_delta = base.connection == "delta"
        return replace(
            base,
            back_emf=flux * base.back_emf,
            # Leads and controller count as part of the branches: only the loop carries current.
            resistance=loop * (1.5 if is_delta else 0.5),
            inductance_d=inductance * base.inductance_d,
            inductance_q=inductance * base.inductance_q,
        )

    def _bridge(self, voltage: float) -> Bridge:
        bridge, advance = self.powered.bridge, self.twist.timing_advance
        return replace(
            bridge,
            supply_voltage=voltage,
            supply_resistance=0.0,
            controller_resistance=0.0,
            lead_resistance=0.0,
            current_limit=math.inf,
            maximum_electrical_speed=None,
            timing_advance=bridge.timing_advance if advance is None else advance,
        )

    def point_residuals(
        self, figures: Figures, point: SteadyPoint, expanded: Surface
    ) -> list[float]:
        """Return (computed − measured) over standard uncertainty, one or two numbers."""
        values = expanded.at(self.place(figures, point))
        torque, current = self._as_read(figures, point, values)
        current_off = math.log(current / point.current)
        relative = {
            "current": point.current_scatter / point.current,
            "torque": point.torque_scatter / max(point.torque, 1e-6),
            "voltage": point.voltage_scatter / point.voltage,
            "speed": point.speed_scatter / point.speed,
        }
        if point.throttle == "part":
            noise = math.hypot(
                relative["current"], relative["voltage"], MODEL_SHARE,
                float(expanded.slope[0, 3]) * relative["torque"], relative["speed"],
            )  # fmt: skip
            return [current_off / noise]
        # What speed does to a drive at full throttle, voltage does the other way round.
        by_volt = np.abs(expanded.slope[:, 3]) * math.hypot(relative["voltage"], relative["speed"])
        return [
            math.log(torque / max(point.torque, 1e-6))
            / math.hypot(relative["torque"], MODEL_SHARE, by_volt[0]),
            current_off / math.hypot(relative["current"], MODEL_SHARE, by_volt[1]),
        ]

    def _as_read(
        self, figures: Figures, point: SteadyPoint, values: FloatArray
    ) -> tuple[float, float]:
        """Return torque (N m) and current (A) in the readings of the stand, from the drive's logs.

        At part throttle the torque is the one that was read.
        """
        spans = {name: figures.get(f"{name}_reading_factor", 1.0) for name in _READINGS}
        if point.throttle == "part":
            true_volt = self.bus(figures, point)
            current = math.exp(values[0]) * point.voltage / true_volt * spans["current"]
            return point.torque, current
        copper = self.copper_C(figures, point)
        shaft = math.exp(values[0]) - self.drag(figures, self.speed(point), copper)
        torque = max(shaft, 1e-6) * spans["torque"] * self.twist.torque
        return torque, math.exp(values[1]) * spans["current"]

    def computed(self, figures: Figures) -> tuple[ComputedPoint, ...]:
        """Return what the drive, solved anew, says of every point, by rising speed."""
        found = []
        for point in self.evidence.points:
            values = self._drive(point, self.place(figures, point))
            torque, current = self._as_read(figures, point, values)
            found.append(
                ComputedPoint(
                    speed_rpm=point.speed / RPM, voltage_V=point.voltage, torque_Nm=torque,
                    current_A=current, throttle=point.throttle,
                )
            )  # fmt: skip
        return tuple(sorted(found, key=lambda one: one.speed_rpm))

    def residuals(self, figures: Figures, expanded: tuple[Surface, ...]) -> FloatArray:
        """Return those of all points, then of all checks."""
        found: list[float] = []
        for point, one in zip(self.evidence.points, expanded, strict=True):
            found += self.point_residuals(figures, point, one)
        for check in self.evidence.other_checks:
            found.append((self.check_value(figures, check) - check.value) / check.uncertainty)
        return np.array(found)

    def check_value(self, figures: Figures, check: BenchCheck) -> float:
        """Return what the model says of a bench check, SI."""
        flux, inductance = self.field_logs(figures)
        base = self.powered.machine(magnet_C=self.evidence.ambient_C)
        is_delta = base.connection == "delta"
        if check.kind == "resistance":
            return self.lead_resistance(figures, check.temperature_C)
        if check.kind == "inductance":
            branch = base.inductance * math.exp(inductance)
            return branch * (2 / 3 if is_delta else 2)
        if check.kind in {"drill", "standstill"}:
            # By power balance both are the peak of the line back-EMF per rad/s.
            return math.exp(flux) / self.powered.constants.speed_per_line_peak
        if check.kind == "coast_down":
            return self.drag(figures, check.speed, check.temperature_C)
        return figures["air_gap_mm"] * MM if check.kind == "air_gap" else figures["remanence_T"]


_READINGS = ("torque", "current", "voltage")


def prior_figures(powered: PoweredMotor, response: FieldResponse, *, end_factor: float) -> Figures:
    """Return the values of all parameters as designed, fitted or not."""
    motor = powered.motor
    found = {
        "remanence_T": motor.rotor.magnet.remanence,
        "air_gap_mm": motor.air_gap / MM,
        "end_factor": end_factor,
        "winding_resistance_20C_ohm": line_line_resistance(powered),
        "controller_resistance_mohm": 1e3 * powered.bridge.controller_resistance,
        "friction_torque_mNm": 1e3 * powered.losses.bearings.torque(),
        "eddy_loss_factor": 1.0,
    }
    if response.permeability is not None:
        found["core_relative_permeability"] = response.permeability
    return found
