"""Room 2: turn checked documents into frozen objects and join them into a catalogue.

Knows what a symptom, cause, check or gauge is. Draws no conclusion from them.
"""
