"""A test predicted before it is done, kept as a file, and scored by the log."""
