"""Temperatures: where they settle, and how they get there over time."""
