"""What a study becomes when it is kept: a bag that describes itself, verified, set beside another."""
