"""The study file: its keys, and how it is read and checked."""
