"""The motor on its supply and load: points, heat, what it can hold, forces of turning."""
