"""What the mobile phase is known to be and to do: facts of its chemistry, and cautions."""
