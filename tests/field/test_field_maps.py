"""Pictures of the field: flux density of flat triangles."""

import math

import numpy as np
import pytest

from fem_motor.field.reading.maps import _flux_density


def test_a_potential_that_rises_evenly_has_one_flux_density_in_every_triangle() -> None:
    # B = (∂A/∂y, −∂A/∂x): |B| of A = a x + b y is √(a² + b²), however the triangles lie.
    rng = np.random.default_rng(3)
    points = rng.normal(size=(2, 60))
    triangles = rng.permutation(60).reshape(3, 20)
    for a, b in ((0.7, 0.0), (0.0, -0.4), (0.3, 0.9)):
        potential = a * points[0] + b * points[1]
        found = _flux_density(points, triangles, potential)
        assert found == pytest.approx(np.full(20, math.hypot(a, b)), rel=1e-9)
