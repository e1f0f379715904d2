"""Reading text with its positions: YAML nodes, cells of a line, names."""
