"""Pure: readouts, monitors and inspection rules."""
