"""What can be changed on a design, how it is then built, and what it costs."""
