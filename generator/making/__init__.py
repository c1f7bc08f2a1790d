"""From metal to rings: materials, springback, coils, saw cuts, mass, strength, the shop."""
