"""The files that a command leaves in a folder: one module a product."""
