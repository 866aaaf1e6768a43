"""The text of a log: its layout, headings, units and columns of numbers."""
