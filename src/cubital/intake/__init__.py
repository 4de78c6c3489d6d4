"""Any laboratory file into canonical rows, with an account of every row that came in."""
