"""The model of a procedure, loading and checking it, and its partial order."""
