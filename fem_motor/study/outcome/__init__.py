"""What came of a study: its table as a file, and the verdict in sentences."""
