"""Keeps the journal and everything else in SQLite or PostgreSQL."""
