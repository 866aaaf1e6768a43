"""The field on curved triangles, and as a VTU file."""
