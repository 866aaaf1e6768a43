"""The likeliest parameters with their ranges, likely causes, and what stays open."""
