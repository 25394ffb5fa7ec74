"""The database: one SQLite file. Nothing outside this package knows tables or SQL; `stores` is the door."""
