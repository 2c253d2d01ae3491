"""Figures that take long or depend on the machine; run by hand."""
