"""What the section drawing is made of."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, Literal

from fem_motor.arrays import FloatArray
from fem_motor.design import Motor, MotorDesign

Kind = Literal["core", "coil", "magnet", "ring", "housing"]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Shape:
    """One part of the drawing: kind, closed outline (2, n) in m, what stands in its middle."""

    kind: Kind
    outline: FloatArray
    mark: str = ""
    direction: float | None = None


def design_of(complete: Mapping[str, Any]) -> MotorDesign:
    raise NotImplementedError


def motor_of(design: MotorDesign | Motor) -> Motor:
    raise NotImplementedError


def shapes_of(motor: Motor) -> tuple[Shape, ...]:
    raise NotImplementedError
