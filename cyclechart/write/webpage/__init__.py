"""The rehearsal page for a browser."""
