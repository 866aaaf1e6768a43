"""The records of the performance sheet; their field names are those of its JSON."""
