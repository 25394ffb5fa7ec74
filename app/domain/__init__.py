"""Plain facts of the trade: points, elements, their notation, and rulings. No rulebook, no files, no clock."""
