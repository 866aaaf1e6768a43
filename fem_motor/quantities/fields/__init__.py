"""The fields of a machine over rotor angle: without currents, with them, and over a whole turn."""
