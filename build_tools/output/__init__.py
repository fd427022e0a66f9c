"""Room 5: turn the catalogue into what people and browsers read."""
