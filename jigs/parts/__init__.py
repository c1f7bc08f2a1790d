"""What jigs are made of: a jig as data, screws, letters, solids, the printer."""
