"""A piece as STL, STEP, GLB and PNG; the process that draws pictures."""
