"""The command line: every job that needs no eyes, grouped by the places of the shop."""
