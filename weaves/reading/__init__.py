"""What a rule file says, read part by part and refused where it is no sound rule."""
