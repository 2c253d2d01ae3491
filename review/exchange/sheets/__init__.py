"""Check-off sheets as tables: read out of spreadsheets that schools have, and written so that they read back."""
