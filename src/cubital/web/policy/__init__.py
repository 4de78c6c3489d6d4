"""The slice of the page *Policy*: every local threshold with source, owner and approval."""
