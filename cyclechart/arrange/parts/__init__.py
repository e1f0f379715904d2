"""What each player reads: the whole form, folded."""
