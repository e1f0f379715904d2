"""Commands that need more than a few lines: their options, their refusals, what they print."""
