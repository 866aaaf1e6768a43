"""What the model says of every measurement, for any values of its parameters."""
