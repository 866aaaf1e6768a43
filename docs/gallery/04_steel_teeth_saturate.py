"""Steel teeth carry what the sheet can carry: near 1.7 T the magnets' drive buys little more."""

import numpy as np
from gallery_tools import design, new_figure, show, styled
from matplotlib.figure import Figure

import fem_motor as fm
from fem_motor.field import FieldMap


def tooth_flux_density(field: FieldMap, machine: fm.MotorDesign) -> float:
    """Return the largest |B| over the middle third of the teeth, mean over each tooth, T."""
    stator = machine.motor.stator
    x, y = field.points[:, field.triangles].mean(axis=1)
    pitch = stator.slot_pitch
    tooth = np.round(np.arctan2(y, x) / pitch)
    along = x * np.cos(tooth * pitch) + y * np.sin(tooth * pitch)
    across = y * np.cos(tooth * pitch) - x * np.sin(tooth * pitch)
    low, high = stator.yoke_radius, stator.tip_corner_radius
    third = (high - low) / 3
    inside = (np.abs(across) < stator.tooth_width / 2) & (np.abs(along - low - 1.5 * third) < third)
    means = [field.flux_density[inside & (tooth == n)].mean() for n in np.unique(tooth[inside])]
    return float(max(means))


@styled
def picture() -> Figure:
    """Draw the sheet's law with the fullest tooth on it."""
    machine = design("steel_12s14p")
    found = tooth_flux_density(fm.solve_field(machine, quality="draft"), machine)
    curve = machine.motor.stator.core.curve
    flux = np.linspace(0.0, 1.9, 200)
    strength = curve.field_strength(flux)

    # EN 10106 asks of M400-50A at least 1.73 T at 10 kA/m (from memory).
    at_10kA = float(np.interp(10e3, strength, flux))
    assert 1.73 <= at_10kA < 1.85

    figure = new_figure(6.0, 3.6)
    axes = figure.add_axes((0.12, 0.15, 0.84, 0.72))
    axes.plot(1e-3 * strength, flux, label="sheet m400-50a of the library")
    axes.plot([10], [at_10kA], "s", label=f"{at_10kA:.2f} T at 10 kA/m")
    here = float(curve.field_strength(np.array([found]))[0])
    axes.plot([1e-3 * here], [found], "o", label=f"fullest tooth of the design, {found:.2f} T")
    axes.set(
        xlim=(0, 15),
        ylim=(0, 2),
        xlabel="field strength in the steel, kA/m",
        ylabel="flux density, T",
        title="Beyond the bend every tenth of a tesla costs a magnet",
    )
    axes.legend(loc="lower right")
    return figure


if __name__ == "__main__":
    show(picture, __file__)
