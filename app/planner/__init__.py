"""The exact planner: the best adaptive plan for the passes still to come."""
