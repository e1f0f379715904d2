"""Systems, grids and texts set on pages as PDF and PNG."""
