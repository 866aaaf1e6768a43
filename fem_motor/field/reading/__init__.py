"""What is read off solved fields as a whole: integrals of elements, and maps for pictures."""
