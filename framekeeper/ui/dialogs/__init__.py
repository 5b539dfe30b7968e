"""Forms that open over a place: each asks for one thing, and keeps what was typed when refused."""
