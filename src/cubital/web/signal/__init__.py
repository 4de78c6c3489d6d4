"""The slice behind *This month*: how sure, since when, and which months are what is usual."""
