"""The language server: what an editor shows while a piece is written."""
