"""What flux walls do to the cogging: one mesh with air far out, solved with and without them.

    python -m benchmarks.walls

The plain codes may end the field at 45 mm and on the bore if that costs less than their meshes do.
The mesh is the same in both solutions, so the difference is that of the walls alone.
"""

from dataclasses import replace

from threadpoolctl import threadpool_limits

from benchmarks import machine, plain_ngsolve

PEAK_NM = 2.7e-3  # about the cogging peak: only sets the scale of the differences


def main() -> None:
    """Print torque with walls, without them, and the difference over the peak."""
    for radius_mm in (90.0, 180.0):
        wide = machine.Walls(outer_radius_mm=radius_mm, bore="air")
        opened = replace(plain_ngsolve.ORDER_3, walls=wide, tolerance=1e-10)
        for angle_deg in (0.375, 0.75, 1.125):
            open_air = plain_ngsolve.cogging(angle_deg, opened).torque_Nm
            walled = plain_ngsolve.cogging(angle_deg, replace(opened, held="wall|near")).torque_Nm
            print(
                f"air to {radius_mm:g} mm, {angle_deg:5.3f} deg: open {1e3 * open_air:+.7f}, "
                f"walls {1e3 * walled:+.7f} mN m, difference {(walled - open_air) / PEAK_NM:+.1e}"
            )


if __name__ == "__main__":
    with threadpool_limits(1):
        main()
