"""What is kept about one client: all of it in one file on request, and taken out again as far as it may be."""
