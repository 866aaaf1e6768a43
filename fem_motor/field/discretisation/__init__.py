"""What one half cell is to the solver: weak forms, elements, and its copies joined to a body."""
