"""The large tables of a workspace: versioned, transactional, readable by any engine."""
