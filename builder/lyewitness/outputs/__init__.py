"""Pages and images to site, PDF, letter and archive on disk. Alone may use weasyprint."""
