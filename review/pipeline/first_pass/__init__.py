"""The first pass: where the steps of a sheet seem to lie in a film, from what was said and seen."""
