"""Lessons as pages: compiled once, drawn in the browser, taught in a room or read alone."""
