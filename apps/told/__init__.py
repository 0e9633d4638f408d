"""What the pages say and show of a scene. No Panel here (`tests/test_structure.py`)."""
