"""The drawings and controls that the places share."""
