"""What a whole piece takes: size, rings, wire, time and money."""
