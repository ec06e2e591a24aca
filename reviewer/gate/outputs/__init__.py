"""The report of a run in every format; each a function of the report alone."""
