"""The folder on disk, read into frozen records. Alone may use tomllib and pydantic."""
