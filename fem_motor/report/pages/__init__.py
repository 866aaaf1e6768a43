"""A document in blocks, as one HTML file and as a PDF."""
