"""One file for each change of form."""
