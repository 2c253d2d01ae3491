"""Screens: they compute nothing, open no film and write no SQL."""
