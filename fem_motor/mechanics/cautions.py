"""What a spinning rotor can do to people, in sentences for the report."""

_TEXT = """\
Magnets leave a rotor like shot: eye protection always, first spins and overspeed in a closed box \
(polycarbonate of 6 mm or more, or plywood), nobody in the plane of rotation.
No rotor with a crack, a loose magnet or a rubbing gap runs again, however small it looks.
Set the motor up without its propeller; with it, stand behind its plane, keep hair, cords and \
sleeves away, and connect the battery last.
Strong magnets pinch and splinter. Keep them from pacemakers, cards and children: two swallowed \
magnets are a surgical emergency.
Stresses are estimates: the strength of a print varies by printer, filament and age, and layers \
give way without warning."""


def cautions() -> tuple[str, ...]:
    """Return the cautions of anything that spins magnets.

    >>> all(sentence.endswith(".") for sentence in cautions())
    True
    """
    return tuple(_TEXT.splitlines())
