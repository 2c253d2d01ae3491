"""What the words mean: frozen types, errors and the shape of the landmark dataset."""
