"""Builds the lead sheet, its grid and the road map of the form."""
