"""The section as closed outlines, and as a DXF drawing."""
