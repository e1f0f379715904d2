"""cyclechart: charts, rehearsal MIDI and plain findings for music in a mode and a cycle."""

__version__ = "0.1.0"
