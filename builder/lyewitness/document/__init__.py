"""A report as parts made of blocks: one table of the parts, from which addresses and contents derive."""
