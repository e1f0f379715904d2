"""MusicXML as engraved systems in SVG."""
