"""Explain on a tablet's home screen: what a browser needs to keep it there, and what it says while its server is away."""
