"""The door: where a person comes in, and what an address says that leads nowhere."""
