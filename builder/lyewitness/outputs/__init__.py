"""Pages and images to edition, PDF, letter and archive on disk. Alone may use weasyprint."""
