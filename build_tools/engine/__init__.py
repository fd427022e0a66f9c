"""Pure: exact inference, planning, supply, advice on a case."""
