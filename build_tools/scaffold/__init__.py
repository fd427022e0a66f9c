"""Room 6: start a new entry for a contributor."""
