"""The lead sheet and the grid."""
