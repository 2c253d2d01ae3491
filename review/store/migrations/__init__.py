"""The forms the database had, oldest first, and the way from each to the next."""
