"""The roles of the players: the sounds of each in a score, and the notes on their staff."""
