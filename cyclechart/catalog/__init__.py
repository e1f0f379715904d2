"""The built-in modes, cycles and strokes as data files, a band's own beside them, one reader."""
