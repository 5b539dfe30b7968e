"""One module per thing that a person does in the shop."""
