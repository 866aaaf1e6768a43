"""How often the ranges of a calibration hold the truth, and how often a planted cause is found.

    python -m benchmarks.calibration [--trials N] [--causes N] [--start N] [--drive-error X]

Truth: every parameter drawn from its prior, and the field of that motor solved anew (its own gap
and permeability, no response polynomial). Readings: the drive room at four throttle steps, a
propeller on the shaft, spans of the instruments drawn too. Otherwise than the fit assumes: noise
of single points is Student's with five degrees of freedom instead of normal, the error of the drive
model is uniform instead of normal, magnets warm up with the throttle, and the winding's sensor
reads 3 K too little to 3 K too much. The same as the fit assumes, an inverse crime: the drive
equations, draft meshes, the law of the losses, and that the priors are true.

A cause is found where it stands first, or among those that explain as well as the first.
"""

import argparse
import math
import sys
import time
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from fem_motor.calibration.fit.causes import ALIKE, AS_DESIGNED, try_causes
from fem_motor.calibration.fit.fitting import fit
from fem_motor.calibration.fit.profile import ranges_of
from fem_motor.calibration.model.forward import MODEL_SHARE, ForwardModel, prior_figures
from fem_motor.calibration.model.parameters import parameters_of
from fem_motor.calibration.model.response import FieldResponse, field_response, with_permeability
from fem_motor.calibration.records import BenchCheck, Evidence, Parameter, SteadyPoint
from fem_motor.design import load_design
from fem_motor.drive import operating_point
from fem_motor.performance import solve_powered
from fem_motor.performance.solved import SolvedDesign
from fem_motor.powered import PoweredMotor
from fem_motor.units import DEG

DESIGN = "geometries/printed_18s16p.toml"
THROTTLES = (0.3, 0.45, 0.6, 0.8, 1.0)
SPANS = {"torque": 0.01, "voltage": 0.005, "current": 0.01}
AMBIENT_C = 20.0
NOISE = 0.003
"""Standard uncertainty of the mean of a point by its scatter."""
FREEDOM = 5
"""Degrees of freedom of the noise."""
SENSOR_K = 3.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Stand:
    """The design as the fit knows it.

    Attributes
    ----------
    solved : SolvedDesign
    response : FieldResponse
    """

    solved: SolvedDesign
    response: FieldResponse

    def model(self, evidence: Evidence) -> ForwardModel:
        """Return the forward model of what was read."""
        factor = self.solved.end_factor.value or 1.0
        prior = prior_figures(self.solved.powered, self.response, end_factor=factor)
        return ForwardModel(
            powered=self.solved.powered, response=self.response, evidence=evidence, prior=prior
        )

    def parameters(self, evidence: Evidence) -> tuple[Parameter, ...]:
        """Return what may differ."""
        return parameters_of(
            self.solved.powered, self.response, evidence, ends=self.solved.end_factor
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class Plant:
    """What is wrong with a motor or its stand beside the draws; 1 or 0: nothing.

    Attributes
    ----------
    flux, resistance, inductance : float
        Factors on the machine.
    figures : mapping of name to factor
        On parameters of the model.
    speed, torque : float
        Logged over true.
    source_resistance, timing_advance : float
        Ohm before the controller; electrical rad.
    """

    flux: float = 1.0
    resistance: float = 1.0
    inductance: float = 1.0
    figures: Mapping[str, float] | None = None
    speed: float = 1.0
    torque: float = 1.0
    source_resistance: float = 0.0
    timing_advance: float = 0.0


NOTHING = Plant()


def stand_of(design_file: str = DESIGN) -> Stand:
    """Return the stand of a design, solved at draft quality."""
    solved = solve_powered(load_design(design_file), quality="draft")
    return Stand(solved=solved, response=field_response(solved.design))


def drawn(
    parameters: Sequence[Parameter], rng: np.random.Generator, *, width: float = 1.0
) -> dict[str, float]:
    """Return true values drawn from the priors, narrowed by `width`."""
    found = {}
    for one in parameters:
        z = width * float(rng.standard_normal())
        is_ratio = one.scale == "ratio"
        found[one.name] = (
            one.prior * math.exp(one.spread * z) if is_ratio else one.prior + one.spread * z
        )
    return found


def true_field(stand: Stand, truth: Mapping[str, float]) -> tuple[float, float]:
    """Return linkage and inductance over the design's, by fields of that gap and core alone."""
    design = with_permeability(
        stand.solved.design.replace("machine.air_gap_mm", truth["air_gap_mm"]),
        truth["core_relative_permeability"],
    )
    here, base = solve_powered(design, quality="draft").powered, stand.solved.powered
    flux = here.model.fundamental_flux_linkage / base.model.fundamental_flux_linkage
    return flux, here.machine().inductance / base.machine().inductance


def readings(
    stand: Stand,
    truth: Mapping[str, float],
    field: tuple[float, float],
    *,
    rng: np.random.Generator,
    plant: Plant = NOTHING,
    drive_error: float = 1.0,
) -> Evidence:
    """Return what the stand reads of a motor with true values `truth`.

    The error of the drive model is `drive_error` times what the fit assumes.
    """
    base, prior = stand.solved.powered, stand.model(Evidence(points=(), spans=SPANS)).prior
    flux = field[0] * plant.flux * truth["remanence_T"] / prior["remanence_T"]
    flux *= truth["end_factor"] / prior["end_factor"]
    winding = truth["winding_resistance_20C_ohm"] / prior["winding_resistance_20C_ohm"]
    sensor = rng.uniform(-SENSOR_K, SENSOR_K)
    points = []
    for throttle in THROTTLES:
        copper, magnet = AMBIENT_C + 25 * throttle**3, AMBIENT_C + 6 * throttle**3
        machine = base.machine(copper_C=copper, magnet_C=magnet)
        machine = replace(
            machine,
            back_emf=flux * machine.back_emf,
            resistance=winding * plant.resistance * machine.resistance,
            inductance_d=field[1] * plant.inductance * machine.inductance_d,
            inductance_q=field[1] * plant.inductance * machine.inductance_q,
        )
        bridge = replace(
            base.bridge,
            throttle=throttle,
            lead_resistance=winding * base.bridge.lead_resistance,
            controller_resistance=truth["controller_resistance_mohm"] / 1e3,
            timing_advance=plant.timing_advance,
            # A controller that limits does not pass on all of the throttle: another question.
            current_limit=math.inf,
        )
        drag = _drag(base, truth, prior, flux=flux, copper_C=copper)
        state = operating_point(machine, bridge, load=base.load or abs, drag=drag).state
        if state is None:
            continue
        shaft = state.torque - drag(state.speed)
        volts = state.bus_voltage + plant.source_resistance * state.supply_current
        true = np.array([state.speed, shaft, volts, state.supply_current])
        wrong = np.array(
            [
                plant.speed,
                plant.torque * truth["torque_reading_factor"],
                truth["voltage_reading_factor"],
                truth["current_reading_factor"],
            ]
        )
        half = math.sqrt(3) * MODEL_SHARE * drive_error
        model = np.array([1.0, 1 + rng.uniform(-half, half), 1.0, 1 + rng.uniform(-half, half)])
        if throttle < 1:  # one number is predicted there: the current at that torque
            model[1] = 1.0
        student = rng.standard_t(FREEDOM, 4) / math.sqrt(FREEDOM / (FREEDOM - 2))
        read = true * wrong * model * (1 + NOISE * student)
        points.append(_point(read, throttle, copper + sensor))
    return Evidence(points=tuple(points), spans=SPANS, ambient_C=AMBIENT_C)


def _point(read: np.ndarray, throttle: float, winding_C: float) -> SteadyPoint:
    speed, torque, voltage, current = read.tolist()
    return SteadyPoint(
        speed=speed, torque=torque, voltage=voltage, current=current,
        speed_scatter=NOISE * speed, torque_scatter=NOISE * torque,
        voltage_scatter=NOISE * voltage, current_scatter=NOISE * current,
        throttle="full" if throttle == 1 else "part", winding_C=winding_C,
    )  # fmt: skip


def _drag(
    base: PoweredMotor,
    truth: Mapping[str, float],
    prior: Mapping[str, float],
    *,
    flux: float,
    copper_C: float,
) -> Callable[[float], float]:
    friction = truth["friction_torque_mNm"] / prior["friction_torque_mNm"]

    def torque(speed: float) -> float:
        turning = max(speed, 1e-3)
        watts = base.drag_losses(turning, copper_C=copper_C)
        bearing, windage = watts["bearing"], watts["windage"]
        field = sum(watts.values()) - bearing - windage
        field *= truth["eddy_loss_factor"] * flux**2
        return (field + friction * bearing + windage) / turning

    return torque


def with_four_wires(
    evidence: Evidence, truth: Mapping[str, float], rng: np.random.Generator
) -> Evidence:
    """Return the evidence with a resistance of 1 % between two leads."""
    value = truth["winding_resistance_20C_ohm"]
    check = BenchCheck(
        kind="resistance",
        value=value * (1 + 0.01 * float(rng.standard_normal())),
        uncertainty=0.01 * value,
    )
    return replace(evidence, checks=(check,))


def coverage(
    stand: Stand,
    trials: int,
    *,
    rng: np.random.Generator,
    field: str = "solved",
    drive_error: float = 1.0,
) -> dict[str, int]:
    """Return how many of so many ranges of 95 % held the truth, by parameter."""
    held: dict[str, int] = {}
    for _ in range(trials):
        empty = Evidence(points=(_point(np.ones(4), 1.0, 20.0),), spans=SPANS)
        truth = drawn(stand.parameters(empty), rng)
        found = _field(stand, truth, field)
        read = readings(stand, truth, found, rng=rng, drive_error=drive_error)
        evidence = with_four_wires(read, truth, rng)
        best = fit(stand.model(evidence), stand.parameters(evidence))
        for one, parameter in zip(ranges_of(best), best.parameters, strict=True):
            is_held = one.low_shift <= _shift(parameter, truth[one.name]) <= one.high_shift
            held[one.name] = held.get(one.name, 0) + is_held
    return held


def _field(stand: Stand, truth: Mapping[str, float], field: str) -> tuple[float, float]:
    if field == "solved":
        return true_field(stand, truth)
    flux, inductance = stand.response.of(
        permeability=truth["core_relative_permeability"], air_gap=truth["air_gap_mm"] / 1e3
    )
    return math.exp(flux), math.exp(inductance)


def _shift(parameter: Parameter, true: float) -> float:
    """Return how many prior standard deviations a true value is away."""
    if parameter.scale == "ratio":
        return math.log(true / parameter.prior) / parameter.spread
    return (true - parameter.prior) / parameter.spread


PLANTS: Mapping[str, tuple[Plant, tuple[str, ...]]] = {
    "weak magnets": (Plant(figures={"remanence_T": 0.8}), ("weak magnets",)),
    "low-permeability core": (
        Plant(figures={"core_relative_permeability": 0.8}),
        ("low-permeability core",),
    ),
    "wide gap": (Plant(figures={"air_gap_mm": 1.6}), ("gap not as drawn",)),
    "more resistance": (Plant(resistance=1.35), ("more resistance than computed",)),
    "lost strand": (Plant(resistance=2.0), ("1 of 2 strands carry the current",)),
    "two turns lost": (
        Plant(flux=12 / 14, resistance=12 / 14, inductance=(12 / 14) ** 2),
        ("12 turns instead of 14 on every tooth",),
    ),
    "friction": (Plant(figures={"friction_torque_mNm": 12.0}), ("friction",)),
    "load cell": (Plant(torque=1.12), ("load-cell calibration",)),
    "joined in delta": (
        Plant(flux=3**-0.5, resistance=1 / 3, inductance=1 / 3),
        ("winding joined in delta",),
    ),
    "wrong pole count": (Plant(speed=8 / 7), ("speed counted with 7 pole pairs instead of 8",)),
    "torque in kgf m": (Plant(torque=1 / 9.80665), ("torque unit: kgf m read as N m",)),
    "sagging battery": (
        Plant(source_resistance=0.03),
        ("sagging battery: voltage read 30 mohm before the controller",),
    ),
    "timing": (Plant(timing_advance=20 * DEG), ("timing advance 20° more than stated",)),
}
"""Name: what is planted, and the causes that name it."""


def ranking(stand: Stand, plant: Plant, *, rng: np.random.Generator) -> tuple[str, list[str]]:
    """Return the cause named first, and all that explain as well."""
    empty = Evidence(points=(_point(np.ones(4), 1.0, 20.0),), spans=SPANS)
    # Half as wide: the plant is to be what is odd about this motor.
    truth = drawn(stand.parameters(empty), rng, width=0.5)
    for name, factor in (plant.figures or {}).items():
        truth[name] *= factor
    found = _field(stand, truth, "response")
    evidence = readings(stand, truth, found, rng=rng, plant=plant)
    model, parameters = stand.model(evidence), stand.parameters(evidence)
    trials = try_causes(model, parameters, as_designed=fit(model, parameters))
    best = trials[0].criterion
    return trials[0].cause.name, [one.cause.name for one in trials if one.criterion <= best + ALIKE]


def main(arguments: Sequence[str] | None = None) -> int:
    """Print both tables."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--trials", type=int, default=200, help="motors for the ranges")
    parser.add_argument("--causes", type=int, default=3, help="motors for each cause")
    parser.add_argument("--start", type=int, default=1, help="of the random numbers")
    parser.add_argument(
        "--drive-error", type=float, default=1.0, help="of the drive model, over the assumed one"
    )
    options = parser.parse_args(arguments)
    stand, rng = stand_of(), np.random.default_rng(options.start)
    started = time.process_time()
    held = coverage(stand, options.trials, rng=rng, drive_error=options.drive_error)
    print(f"ranges of 95 % that hold the truth, of {options.trials} motors")
    for name, count in held.items():
        print(f"  {name:28s} {100 * count / options.trials:5.1f} %")
    print(f"  {time.process_time() - started:.0f} s of processor time")
    hits = total = 0
    for name, (plant, wanted) in PLANTS.items():
        for _ in range(options.causes):
            first, alike = ranking(stand, plant, rng=rng)
            is_found = bool(set(wanted) & set(alike))
            hits, total = hits + is_found, total + 1
            mark = "found" if is_found else "missed"
            dull = " (as designed is as good)" if AS_DESIGNED in alike else ""
            print(f"  {mark:6s} {name}: first {first}, {len(alike)} alike{dull}", flush=True)
    print(f"planted causes named first or among those alike: {hits} of {total}")
    return 0


if __name__ == "__main__":
    sys.exit(main())
