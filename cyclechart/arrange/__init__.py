"""From a piece to a score: the form unrolled on one timeline, one file a role; and to a sheet."""
