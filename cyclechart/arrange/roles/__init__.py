"""The roles of the players: what each plays in a score."""
