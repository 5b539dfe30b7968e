"""One module per place in the shop."""
