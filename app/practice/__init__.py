"""Practice: what the skater's own log says. It counts; it sets no targets."""
