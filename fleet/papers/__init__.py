"""What is printed: PDF sheets with an embedded font, the same bytes for the same content."""
