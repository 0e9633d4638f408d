"""The scene being set and its controls, shared by the pages that set one."""
