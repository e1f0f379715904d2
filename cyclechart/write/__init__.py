"""From a score, a sheet or findings to files: one module a format."""
