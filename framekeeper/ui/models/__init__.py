"""Table models over rows that a service returned."""
