"""How far an answer can be trusted: the quality asked for, ranges, and checks."""
