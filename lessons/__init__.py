"""Lessons that read and run the simulator; none is written yet."""
