"""Every ring of a whole piece: laid out, half made, worn, as a mesh, measured again."""
