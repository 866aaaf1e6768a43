"""An assessment as text for the store, and back: the same numbers to the last bit."""

import json
from collections.abc import Mapping
from dataclasses import fields
from typing import Any

import numpy as np

from fem_motor.comparison.assessing.assessment import Assessment
from fem_motor.comparison.assessing.estimates import Doubts, Estimate
from fem_motor.comparison.assessing.masses import Masses
from fem_motor.comparison.assessing.survival import Level
from fem_motor.comparison.assessing.waves import FullThrottle
from fem_motor.comparison.records import Curves
from fem_motor.design import MotorDesign
from fem_motor.findings import Headline
from fem_motor.plain import plain_data


def text_of(assessment: Assessment) -> str:
    """Return all of an assessment but its design as JSON."""
    gaps: list[str] = []
    plain = {
        one.name: plain_data(getattr(assessment, one.name), one.name, gaps)
        for one in fields(assessment)
        if one.name != "design"
    }
    if gaps:
        msg = f"{', '.join(gaps)}: not finite, and could not be read back"
        raise ValueError(msg)
    return json.dumps(plain, ensure_ascii=False, separators=(",", ":"))


def assessment_of(design: MotorDesign, plain: Mapping[str, Any]) -> Assessment:
    """Return the assessment of `design` that was kept."""
    throttle = plain["full_throttle"]
    return Assessment(
        **{
            **plain,
            "design": design,
            "levels": tuple(_level(one) for one in plain["levels"]),
            "cogging": Headline(**plain["cogging"]),
            "masses": Masses(**plain["masses"]),
            "full_throttle": None if throttle is None else _throttle(throttle),
        }
    )


def _level(plain: Mapping[str, Any]) -> Level:
    estimate = plain["estimate"]
    doubts = Doubts(**{cause: tuple(ends) for cause, ends in estimate["doubts"].items()})
    return Level(**{**plain, "estimate": Estimate(value=estimate["value"], doubts=doubts)})


def _throttle(plain: Mapping[str, Any]) -> FullThrottle:
    softens = plain["seconds_to_soften"]
    curves = Curves(**{name: np.array(values) for name, values in plain["curves"].items()})
    softening = None if softens is None else Headline(**softens)
    return FullThrottle(**{**plain, "seconds_to_soften": softening, "curves": curves})
