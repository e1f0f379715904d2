"""The catalogue of modes, cycles, strokes and instruments, a band's own, and their readers."""
