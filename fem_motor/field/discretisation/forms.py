"""The weak forms of magnetostatics in the plane, written as the equations read.

∫ ν ∇A·∇v  =  ∫ J v  +  ∫ ν (B_rx ∂v/∂y − B_ry ∂v/∂x),     B = (∂A/∂y, −∂A/∂x)
"""

from typing import Any

from skfem import BilinearForm, LinearForm
from skfem.helpers import dot, grad

from fem_motor.arrays import FloatArray


@BilinearForm
def stiffness(A_z: Any, test: Any, at: Any) -> FloatArray:
    return at.reluctivity * dot(grad(A_z), grad(test))


@LinearForm
def remanence(test: Any, at: Any) -> FloatArray:
    d_dx, d_dy = grad(test)
    B_rx, B_ry = at.remanence
    return at.reluctivity * (B_rx * d_dy - B_ry * d_dx)


@LinearForm
def mean_over_coil(test: Any, at: Any) -> FloatArray:
    return test / at.coil_area
