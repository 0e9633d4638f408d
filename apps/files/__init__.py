"""What leaves the program as a file: report, tables, the sheet to take home and its print."""
