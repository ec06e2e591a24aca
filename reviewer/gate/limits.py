"""How long a worker may take over one section at all its places, s, where nothing else is said."""

from typing import Final

TIME_LIMIT: Final = 60.0
HOURLY_TIME_LIMIT: Final = 600.0
"""With the hourly simulation."""
