"""The problem, its solutions, both ways to find them, and what a problem answers itself."""
