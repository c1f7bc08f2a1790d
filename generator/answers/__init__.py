"""What there is to say of a size: verdict, limits, advice, in words and JSON."""
