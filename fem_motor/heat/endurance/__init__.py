"""What can be held and for how long: limits, softening, load and rest in turn."""
