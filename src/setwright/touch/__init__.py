"""Touch: where is the part, really? Readings of finders, indicators and setters become offsets, lengths and how sure they are."""
