"""What was seen on each column, read as signs of how it failed."""
