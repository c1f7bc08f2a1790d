"""The assembly sheet: how a weave is put together, in words and pictures."""
