"""What are we missing, and which change of policy would move which number."""
