"""What the program was checked against, as a page and as a file of its own."""
