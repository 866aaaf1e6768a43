"""Timings with errors: fem_motor against plain finite-element scripts on one fixed machine."""
