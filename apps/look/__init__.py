"""The frame, colours and type that every page shares."""
