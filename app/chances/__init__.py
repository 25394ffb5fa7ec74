"""What an attempt may become: population prior, shrunk to the skater's own log, adjusted for the moment."""
