"""Pure: what a reading and a sum mean."""
