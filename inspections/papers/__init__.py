"""What is printed of both worlds."""
