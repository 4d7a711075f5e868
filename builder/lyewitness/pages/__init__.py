"""Records and claims to pages, as text. Alone may use jinja2 and markdown-it-py."""
