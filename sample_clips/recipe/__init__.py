"""The recipe of the sample clips: an invented person is posed, dressed, drawn, filmed and written down.

Axes everywhere: x to the person's own left, y up, z the way the person faces; metres and degrees.
"""
