"""A charter turns sets and isolates into a class and a reason for every set."""
