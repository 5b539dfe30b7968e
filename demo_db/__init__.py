"""Builds the demo shop: an invented scenario, seeded, reproducible."""
