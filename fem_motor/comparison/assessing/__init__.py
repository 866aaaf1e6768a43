"""What one design can do: its fields, then heat and drive, with the doubts of each figure."""
