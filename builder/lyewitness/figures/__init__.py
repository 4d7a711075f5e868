"""Records to images, as bytes. Alone may use matplotlib."""
