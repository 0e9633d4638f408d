"""What is carried away as one file that needs no server: a lesson, a folder of them, a scene."""
