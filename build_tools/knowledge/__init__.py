"""Room 1: turn bytes into plain values that remember where they stood.

Knows files, YAML, JSON Schema and how a problem is told. Knows nothing of cars.
"""
