"""The live room: its state, its store, who may see what, and the routes that serve it."""
