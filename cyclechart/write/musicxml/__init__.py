"""A sheet as MusicXML 4.0."""
