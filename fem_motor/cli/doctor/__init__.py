"""The verb doctor: what is installed, and a small case whose answer is known."""
