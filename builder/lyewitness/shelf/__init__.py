"""Many finished studies side by side: found again, asked, and taken together."""
