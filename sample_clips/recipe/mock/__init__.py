"""Whole attempts at a checklist, spoken and played by invented people, with the truth of every step and word."""
