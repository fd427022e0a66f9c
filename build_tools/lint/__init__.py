"""Room 4: judge a catalogue and say what to mend.

Rules yield problems; nothing here prints, reads the clock or changes a file.
"""
