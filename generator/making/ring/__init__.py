"""One ring from wire: metal, springback, coil, saw cut, mass, strength."""
