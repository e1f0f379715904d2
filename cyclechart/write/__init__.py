"""Data in, bytes or text out: one package a format."""
