"""Every range holds its value, also where next to nothing is left of it."""

import pytest

import fem_motor as fm


@pytest.mark.slow
def test_every_range_holds_its_value_where_the_core_turns_the_sign_of_the_cogging() -> None:
    # Two Halbach segments a pole and a core of permeability 1.35: next to no cogging, and of
    # another sign with another permeability. By definition low ≤ value ≤ high.
    design = fm.load_design("geometries/printed_18s16p.toml")
    design = design.replace(
        **{
            "rotor.magnet_shape": "arc",
            "rotor.magnet_width_mm": None,
            "rotor.magnet_arc_fraction": 0.95,
            "rotor.magnet_layout": "halbach",
            "rotor.segments_per_pole": 2,
        }
    )
    answers = fm.run(design, quality="draft").answers
    assert answers["cogging_peak_to_peak_Nm"].low == 0.0
    for name, one in answers.items():
        for end, side in ((one.low, 1), (one.high, -1)):
            if one.value is not None and end is not None:
                assert side * end <= side * one.value, name
