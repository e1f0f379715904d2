"""The text of pieces as they are written: drafted anew, tidied, mended."""
