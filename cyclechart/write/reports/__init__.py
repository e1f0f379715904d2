"""Findings for other programs: as JSON, and as SARIF."""
