"""From the characters of a file to things with places: YAML nodes, cells of a line, names."""
