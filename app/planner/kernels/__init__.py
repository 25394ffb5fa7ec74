"""The tight loops of the free-skating planner, compiled by numba; nothing else.

They know no files and no text: `app.planner.packing` turns an edition and a problem into the tables they
read, `app.planner.backward` says what is solved and why the bounds hold. The rules in `rules` are a second
implementation of `app.legality`; tests hold the two to each other.
"""
