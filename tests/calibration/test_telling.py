"""What is not told apart, and the check that parts it: promised on paper, kept when done."""

import math
from collections.abc import Sequence

import pytest
from stand import model_of, response, simulated, solved

from fem_motor.calibration.fit.causes import FOUR_WIRE, GAP
from fem_motor.calibration.fit.fitting import Fit, fit
from fem_motor.calibration.fit.profile import ranges_of
from fem_motor.calibration.fit.telling import Parting, open_groups, parting
from fem_motor.calibration.model.forward import ForwardModel
from fem_motor.calibration.model.parameters import parameters_of
from fem_motor.calibration.records import BenchCheck


def fitted(*checks: BenchCheck) -> tuple[ForwardModel, Fit]:
    evidence = simulated(checks=checks)
    model = model_of(evidence)
    parameters = parameters_of(solved().powered, response(), evidence, ends=solved().end_factor)
    return model, fit(model, parameters)


def part(model: ForwardModel, found: Fit, names: Sequence[str]) -> Parting:
    place = [one.name for one in found.parameters]
    best = parting(model, found, [place.index(name) for name in names])
    assert best is not None
    return best


def test_magnets_and_gap_are_parted_by_a_caliper_as_well_as_was_promised() -> None:
    model, loose = fitted()
    best = part(model, loose, ("remanence_T", "air_gap_mm"))
    assert best.words == GAP
    gap = loose.figures["air_gap_mm"] * 1e-3
    # Second method: the measurement done, everything fitted anew.
    _, tight = fitted(BenchCheck(kind="air_gap", value=gap, uncertainty=0.06 * gap))
    k = [one.name for one in loose.parameters].index("air_gap_mm")
    kept = math.sqrt(tight.covariance[k, k] / loose.covariance[k, k])
    assert best.index == k
    assert best.left == pytest.approx(kept, rel=0.02)


def test_resistances_are_parted_by_four_wires() -> None:
    # Common practice, no source: four wires leave the leads and the controller out.
    model, loose = fitted()
    names = ("winding_resistance_20C_ohm", "controller_resistance_mohm")
    assert part(model, loose, names).words == FOUR_WIRE


def test_a_group_is_said_with_bands_and_the_flux_that_is_known() -> None:
    model, found = fitted()
    said = list(open_groups(model, found, ranges_of(found)))
    magnets = next(one for one in said if "remanence" in one.name)
    assert magnets.status == "watch"
    assert "air gap 0." in magnets.why
    assert "mm" in magnets.why
    assert "the flux linkage of all together is known to ±" in magnets.why
    assert "% of the range of the" in magnets.do
