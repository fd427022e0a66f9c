"""Room 3, reasoning: pure functions from findings to causes, next checks and reasons.

No files, no clock, no randomness. Rooms below: data and model. Rooms above: lint, output.
"""
