"""What is drawn into axes that are given: section, field, curves over angle, speed and time."""
