"""What everything may use: errors, files, sizes with units, worker processes."""
