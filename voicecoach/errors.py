"""What is said to the user when something cannot be done."""


class Complaint(Exception):  # noqa: N818  (it is a sentence for a person, not a fault of the program)
    """One clear sentence for the user: what is wrong, where, and what to do about it."""
