"""Reasons and verdicts in plain words, and the page for the terminal."""
