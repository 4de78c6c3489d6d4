"""The slice for odd organisms that cluster, and the lots in use there. A private page: small counts stand on it."""
