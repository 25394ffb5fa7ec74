"""Everything that speaks HTTP: the gate, the routes, the pages."""
