"""One weave at many sizes: table, plot, and what a stopped sweep keeps."""
