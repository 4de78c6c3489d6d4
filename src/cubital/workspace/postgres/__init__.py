"""Records on a PostgreSQL server; imported only where a workspace keeps them there."""
