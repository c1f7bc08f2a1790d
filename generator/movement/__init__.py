"""How far a settled weave goes: pushed, bent, closed into a ring, loaded, put together."""
