"""Currents in closed loops: Kirchhoff in time, closed forms, coils of a whole machine."""

import math

import numpy as np
import pytest
from scipy.integrate import solve_ivp

import fem_motor as fm
from fem_motor.mesh import mesh_motor
from fem_motor.performance.currents.loop_currents import Circuits, circuits_of, loop_currents
from fem_motor.quantities import MotorModel, motor_model
from fem_motor.winding import Winding, wind

RATE = np.array([2500.0])


def circuits(
    names: str, inductance: np.ndarray, resistance: np.ndarray, connection: str = "star"
) -> Circuits:
    return Circuits(
        phase=tuple(names),
        turns=np.eye(len(names)),
        resistance=resistance,
        inductance=inductance,
        connection="delta" if connection == "delta" else "star",
    )


def test_two_coupled_circuits_meet_twice_their_resistance_and_leakage() -> None:
    # Currents i and −i: 2 (R + jω(L − M)) i = −(e₁ − e₂). With M left out it would be a third less.
    self_, mutual, ohm = 40e-6, 20e-6, 0.05
    matrix = np.diag(np.full(4, self_)).astype(float)
    matrix[0, 1] = matrix[1, 0] = mutual
    emf = np.array([[1.0], [0.6 - 0.2j], [0.3], [0.3j]])
    found = loop_currents(circuits("UUVW", matrix, np.full(4, ohm)), emf, RATE)
    expected = abs(emf[0, 0] - emf[1, 0]) / abs(2 * (ohm + 1j * RATE[0] * (self_ - mutual)))
    assert found == pytest.approx({"U": expected / math.sqrt(2)}, rel=1e-12)


@pytest.mark.parametrize("connection", ["star", "delta"])
def test_coupled_circuits_carry_what_their_equations_give_in_time(connection: str) -> None:
    # L di/dt = v − R i − e marched from rest until it has settled; the phases' voltages v are what
    # keeps Kirchhoff's laws: d/dt of the currents' sums.
    rng = np.random.default_rng(7)
    names = "UUVVWW"
    half = rng.normal(size=(6, 6))
    matrix = 1e-5 * (half @ half.T + 4 * np.eye(6))
    ohm = rng.uniform(0.05, 0.1, 6)
    emf = rng.normal(size=(6, 1)) + 1j * rng.normal(size=(6, 1))
    belongs = np.array([[one == phase for phase in "UVW"] for one in names], dtype=float)
    # Loop currents as free coordinates: one in each pair of circuits, one around the delta.
    free = np.zeros((6, 3))
    for k in range(3):
        free[2 * k, k], free[2 * k + 1, k] = 1, -1
    if connection == "delta":
        free = np.column_stack([free, np.full(6, 0.5)])
        assert np.ptp(belongs.T @ free[:, 3]) == 0

    def slope(time: float, loops: np.ndarray) -> np.ndarray:
        induced = np.real(emf[:, 0] * np.exp(1j * RATE[0] * time))
        # Voltages between terminals do no work on currents that stay within.
        return np.asarray(
            np.linalg.solve(free.T @ matrix @ free, -free.T @ (ohm * (free @ loops) + induced))
        )

    period = 2 * math.pi / RATE[0]
    times = 40 * period + period / 64 * np.arange(64)
    marched = solve_ivp(
        slope, (0, 41 * period), np.zeros(free.shape[1]), "DOP853", times, rtol=1e-9, atol=1e-9
    )
    flowing = free @ marched.y
    found = circuits(names, matrix, ohm, connection).currents(emf, RATE)[:, 0]
    wave = np.real(found[:, None] * np.exp(1j * RATE[0] * times))
    assert wave == pytest.approx(flowing, abs=1e-6 * float(np.abs(flowing).max()))


def test_currents_of_several_orders_add_as_squares() -> None:
    # Parseval: squares of the root mean squares of different orders add.
    emf = np.array([[1.0, 0.5], [0.0, 0.0], [0, 0], [0, 0]])
    rates = np.array([100.0, 500.0])
    system = circuits("UUVW", 1e-5 * np.eye(4), np.full(4, 0.1))
    both = loop_currents(system, emf, rates)["U"]
    one, other = (loop_currents(system, emf[:, [k]], rates[[k]])["U"] for k in (0, 1))
    assert both == pytest.approx(math.hypot(one, other), rel=1e-12)


def solved(design: fm.MotorDesign) -> tuple[Winding, MotorModel]:
    motor, winding = design.motor, wind(design.motor)
    return winding, motor_model(motor, winding, mesh_motor(motor, quality="draft"))


def two_circuits(**built: object) -> fm.MotorDesign:
    design = fm.load_design("geometries/printed_18s16p.toml")
    design = design.replace(winding__parallel_circuits=2)
    return design.replace(**{f"as_built__{name}": value for name, value in built.items()})


def test_the_circuits_together_have_the_inductances_of_the_phases() -> None:
    # Both halves of a phase in series with half its current each: ψ = ½ Σ ψ_k, by definition.
    winding, model = solved(two_circuits(coils=[{"tooth": 4, "reversed": True}]))
    found = circuits_of(winding, model)
    half = np.array([[one == phase for one in found.phase] for phase in "UVW"]) / 2
    plane = found.turns @ model.tooth_inductances() @ found.turns.T
    expected = model.inductances.matrix.mean(axis=2)
    # The phases' are means over an electrical period, the teeth's over slot pitches.
    assert half @ plane @ half.T == pytest.approx(expected, abs=1e-3 * float(expected.max()))


def test_a_reversed_coil_stays_in_its_own_circuit() -> None:
    # As designed three neighbours share a wire; which way round one is wound changes no wire.
    as_designed = wind(two_circuits().motor)
    reversed_ = wind(two_circuits(coils=[{"tooth": 4, "reversed": True}]).motor)
    for phase in "UVW":
        assert reversed_.circuits(phase) == as_designed.circuits(phase)


def test_a_coil_that_two_phases_have_swapped_is_counted_once() -> None:
    # By counting: every one of 18 teeth has one coil.
    swapped = wind(
        two_circuits(coils=[{"tooth": 1, "phase": "V"}, {"tooth": 4, "phase": "U"}]).motor
    )
    teeth = [tooth for phase in "UVW" for one in swapped.circuits(phase) for tooth in one]
    assert sorted(teeth) == list(range(18))


def test_a_reversed_coil_drives_the_emf_it_takes_from_its_circuit() -> None:
    # Phasors 20° apart in threes; the middle one reversed takes 2 of 1 + 2 cos 20°. The other
    # circuit pushes that difference through both: 2 (R + jω(L − M)) i = 2 e, third harmonics apart.
    winding, model = solved(two_circuits(coils=[{"tooth": 4, "reversed": True}]))
    found = circuits_of(winding, model)
    v = [k for k, phase in enumerate(found.phase) if phase == "V"]
    tooth = model.tooth_linkage[3]
    fundamental = 2 / tooth.size * np.fft.rfft(tooth)[[1]]
    rate = 8 * 700.0
    emf = 1j * rate * np.outer(np.exp(-2j * math.pi * 8 / 18 * (np.arange(18) - 3)), fundamental)
    current = loop_currents(found, emf, np.array([rate]))["V"]
    matrix = found.inductance[np.ix_(v, v)]
    leakage = (matrix[0, 0] + matrix[1, 1] - 2 * matrix[0, 1]) / 2
    impedance = abs(2 * (found.resistance[v[0]] + 1j * rate * leakage))
    turns = winding.turns_per_tooth
    alone = 2 * turns * abs(rate * fundamental[0]) / impedance / math.sqrt(2)
    # Loops of the other phases are coupled too, and a little lower it.
    assert current == pytest.approx(alone, rel=0.05)


def test_circuits_in_parallel_have_the_resistance_of_the_phase_that_a_meter_reads() -> None:
    # Ohm: two alike circuits of a phase, 1/R = 1/R₁ + 1/R₂; 6 turns less of 42 are a seventh less.
    winding, model = solved(two_circuits(coils=[{"tooth": 4, "turns": 8}]))
    found = circuits_of(winding, model)
    sound, short = (
        [ohm for ohm, one in zip(found.resistance, found.phase, strict=True) if one == phase]
        for phase in "UV"
    )
    assert 1 / sum(1 / ohm for ohm in sound) == pytest.approx(winding.resistance_phase, rel=1e-9)
    assert min(short) / max(short) == pytest.approx(6 / 7, rel=1e-9)
