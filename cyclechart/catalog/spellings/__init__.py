"""Other spellings of the tones than those of a line's own text, read as our sargam."""
