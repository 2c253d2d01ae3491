"""Files in and out in open formats: pure text and bytes, no recordings, no people's rights."""
