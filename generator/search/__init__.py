"""Where the rings of a weave lie, found from its links or its steps alone."""
