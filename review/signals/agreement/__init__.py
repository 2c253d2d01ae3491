"""Numbers about raters: how far several people who grade the same things agree, and how sure that is."""
