"""Papers, labels and files: bytes to plain dataclasses and back."""
