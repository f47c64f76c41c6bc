"""Many variants of one part: which there are, checking each, keeping what they say, and telling it."""
