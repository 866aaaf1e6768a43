"""A motor with its supply, controller, load and losses, at any temperature."""

from collections.abc import Callable
from dataclasses import dataclass, replace

from scipy.optimize import brentq

from fem_motor.design import Motor
from fem_motor.drive import Bridge, ElectricalMachine, OperatingPoint, operating_point
from fem_motor.loading import DqMap
from fem_motor.losses import LossModel, loss_model
from fem_motor.quantities import MachineConstants, MotorModel, machine_constants
from fem_motor.units import ROOM_C
from fem_motor.winding import Winding

Linkages = Callable[[float, float], tuple[float, float]]
"""What i_d and i_q, A, add to ψ_d and ψ_q of a branch, Wb."""

TorqueLine = Callable[[float], float]
"""Torque, N m, over mechanical speed, rad/s."""

ROUGHLY = 1e-6
"""Of the top speed, to which a rough speed is found."""

USUAL_SPEED = 0.75
"""Part of the no-load speed at which the extra resistance by skin and proximity is taken."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class PoweredMotor:
    """What turns electricity into thrust, and what it loses on the way.

    Attributes
    ----------
    motor : Motor
    winding : Winding
    model : MotorModel
    losses : LossModel
    bridge : Bridge
    load : TorqueLine or None
    end_factor : float
        On the back-EMF of the section.
    saturation : DqMap or None
        What currents do to the flux linkages, for the sine drive; None: constant inductances.
    """

    motor: Motor
    winding: Winding
    model: MotorModel
    losses: LossModel
    bridge: Bridge
    load: TorqueLine | None
    end_factor: float
    saturation: DqMap | None = None

    @property
    def constants(self) -> MachineConstants:
        """Torque per ampere and speed per volt, end factor applied, 20 °C."""
        return machine_constants(
            flux_linkage=self.model.fundamental_flux_linkage * self.end_factor,
            pole_pairs=self.motor.rotor.pole_pairs,
            connection=self.motor.winding.connection,
            resistance=self.winding.resistance_phase,
        )

    def machine(self, *, copper_C: float = ROOM_C, magnet_C: float = ROOM_C) -> ElectricalMachine:
        """Return the machine as its terminals show it; inductances with the end turns' estimate."""
        magnet, model = self.motor.rotor.magnet, self.model
        strength = magnet.remanence_at(magnet_C) / magnet.remanence if magnet.remanence else 0.0
        flux = self.model.fundamental_flux_linkage * self.end_factor * self.motor.rotor.pole_pairs
        speed = USUAL_SPEED * self.bridge.supply_voltage / (2 * flux) if flux else 0.0
        return ElectricalMachine(
            pole_pairs=self.motor.rotor.pole_pairs,
            back_emf=strength * self.end_factor * model.back_emf,
            resistance=self.losses.branch_resistance_at(speed, copper_C),
            inductance_d=model.inductance_d + model.inductance_end,
            inductance_q=model.inductance_q + model.inductance_end,
            connection=self.motor.winding.connection,
            cogging_torque=model.cogging_torque,
            flux_map=self._flux_map(),
        )

    def _flux_map(self) -> Linkages | None:
        """Return what currents add to ψ_d and ψ_q, end turns included; None without a map."""
        if self.saturation is None:
            return None
        added, end_turns = self.saturation.added_linkages(), self.model.inductance_end

        def linkages(i_d: float, i_q: float) -> tuple[float, float]:
            psi_d, psi_q = added(i_d, i_q)
            return psi_d + end_turns * i_d, psi_q + end_turns * i_q

        return linkages

    def drag(self, speed: float, *, copper_C: float = ROOM_C, magnet_C: float = ROOM_C) -> float:
        """Return the torque of strand eddies, iron, magnets, windage and bearings, N m."""
        return self.losses.drag_torque(
            speed, copper_C=copper_C, magnet_C=magnet_C, bearing_load=self.thrust(speed)
        )

    def drag_losses(
        self, speed: float, *, copper_C: float = ROOM_C, magnet_C: float = ROOM_C
    ) -> dict[str, float]:
        """Return what that torque takes at a speed, W by kind."""
        return dict(
            self.losses.drag(
                speed, copper_C=copper_C, magnet_C=magnet_C, bearing_load=self.thrust(speed)
            )
        )

    def thrust(self, speed: float) -> float:
        """Return the propeller's thrust, N; 0 for other loads."""
        load = self.motor.load
        found = None if load is None else load.thrust(speed, self.motor.load_density)
        return found or 0.0

    def at_load(
        self,
        *,
        copper_C: float = ROOM_C,
        magnet_C: float = ROOM_C,
        load: TorqueLine | None = None,
        throttle: float = 1.0,
    ) -> OperatingPoint:
        """Return the point where motor and load agree.

        Parameters
        ----------
        copper_C, magnet_C : float
        load : TorqueLine, optional
            Instead of the design's.
        throttle : float
            Share of the bus voltage that may be used, above 0 to 1.

        Raises
        ------
        InputError
            A throttle out of range.
        """
        line = load or self.load or _nothing
        return operating_point(
            self.machine(copper_C=copper_C, magnet_C=magnet_C),
            replace(self.bridge, throttle=throttle),
            load=line,
            drag=lambda speed: self.drag(speed, copper_C=copper_C, magnet_C=magnet_C),
        )

    def rough_shaft_power(self, turns_factor: float) -> float:
        """Return the shaft power at full throttle with other turns of the same copper, W.

        T = k min((V − k ω)/R, I), with k going as the turns, the copper's resistance as their
        square, the leads' as the turns: where to look, not what to say. 0 where nothing turns.

        Parameters
        ----------
        turns_factor : float
            On the turns of the design.
        """
        load, bridge, more = self.load, self.bridge, turns_factor
        k = more * self.constants.torque_per_dc
        leads = 2 * self.winding.lead_resistance
        resistance = (
            more**2 * (self.winding.resistance_line_line - leads)
            + more * leads
            + bridge.controller_resistance
            + bridge.supply_resistance
        )

        def spare(speed: float) -> float:
            current = min((bridge.supply_voltage - k * speed) / resistance, bridge.current_limit)
            taken = 0.0 if load is None else load(speed)
            return k * current - taken - self.drag(speed)

        top = bridge.supply_voltage / k
        if bridge.maximum_electrical_speed is not None:
            top = min(top, bridge.maximum_electrical_speed / self.motor.rotor.pole_pairs)
        if load is None or spare(0.0) <= 0:
            return 0.0
        speed = top if spare(top) >= 0 else float(brentq(spare, 0.0, top, xtol=ROUGHLY * top))
        return load(speed) * speed


def powered_motor(
    motor: Motor, winding: Winding, model: MotorModel, *, end_factor: float
) -> PoweredMotor:
    """Return the motor with everything that the design file says about its use."""
    drive = motor.drive
    load = motor.load
    return PoweredMotor(
        motor=motor,
        winding=winding,
        model=model,
        losses=loss_model(motor, winding, model, flux_factor=end_factor),
        bridge=Bridge(
            supply_voltage=drive.supply_voltage,
            supply_resistance=drive.supply_resistance,
            controller_resistance=drive.controller_resistance,
            lead_resistance=winding.lead_resistance,
            current_limit=drive.current_limit,
            controller=drive.controller,
            timing_advance=drive.timing_advance,
            maximum_electrical_speed=drive.maximum_electrical_speed,
        ),
        load=None if load is None else lambda speed: load.torque(speed, motor.load_density),
        end_factor=end_factor,
    )


def _nothing(speed: float) -> float:  # noqa: ARG001  (a torque line)
    return 0.0
