"""Cards to work by: winding, magnets, parts, and what to measure."""
