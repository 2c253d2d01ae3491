"""Estimates against the known truth of rendered films.

Run: ``python -m tests.benchmarks.truth [--clips FOLDER] [--home FOLDER] [--learn] [--json]``

``--clips`` names a folder made by ``python -m sample_clips.recipe.studio --out FOLDER``; every film in it says what
each measure should say of which seconds (``checks``). Films are analysed as any film is, and a home folder that is
kept saves later runs that work. The bias of each reading is learned on the films of all other people and taken off
those of the one that is tested, so that no number is tested on what it was learned from. ``--learn`` then learns from
all and writes ``review/measures/learned.toml``. Without ``--clips`` the sample clips alone are measured, as packaged.
"""
