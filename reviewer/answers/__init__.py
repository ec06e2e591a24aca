"""Questions in plain English: read into sections, answered from the same rules and numbers, never guessed in silence."""
