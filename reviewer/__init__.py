"""Reviews building-enclosure sections for moisture safety, with reasons, numbers and sources."""

__version__ = "0.1.0"
