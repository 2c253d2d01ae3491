"""From a recording to its tracks, and from tracks to values."""
