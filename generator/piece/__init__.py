"""Every ring of a whole piece: laid out, half made, as a mesh, measured again."""
