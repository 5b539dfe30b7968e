"""Framekeeper tests."""
