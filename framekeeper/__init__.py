"""Framekeeper keeps every frame and every piece of mesh in a screen-printing shop."""

__version__ = "0.1.0"
