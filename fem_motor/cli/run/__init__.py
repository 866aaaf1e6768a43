"""The verb run, and the profile of throttle over time that it reads."""
