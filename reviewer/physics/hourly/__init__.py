"""Hourly heat, air and moisture simulation (EN 15026)."""
